"""What is odd about one mark's way: a frame off it, a stop in it, a corner in it, a start or stop without ease, a shake from frame to frame."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Limits
from shotcrit.checks.sure import beyond
from shotcrit.clock import Span, runs
from shotcrit.readings.motion.local import HALF, OFF_ERROR, Oddities, oddities
from shotcrit.readings.motion.paths import Path

Array = npt.NDArray[np.float64]
BARS = 3.0
"""Standard errors that count for a single frame of hundreds (guess: a few false ones in a thousand frames at two)."""
ALIKE = 0.2
"""Cosine of the angle up to which a way goes on in its direction (guess: 78 degrees, which a curved way turns over a stop and two frames each side)."""
GOES_ON = 0.6
"""Part of its speed that a mark has on the frames beside a stop, when the stop is a hitch (measured on 130 s of captured motion: no dip so deep has more)."""
SURELY_SLOWER = 0.5
"""Part of its speed that a mark has lost for sure, by its own error: a follower that sticks to what it sees stops as well."""
LONGEST_STOP = 3
"""Frames; a longer stop is a rest (guess: an eighth of a second)."""
NEAR = 3
"""Frames before and after that tell a mark's speed (guess: an eighth of a second)."""
CORNER = (0.0, -0.85)
"""Cosines of the angles between which a turn at full speed is a broken arc: a right angle to 150 degrees. Less is a curve, more a bounce or a clap."""
CORNER_CLEAR = 2.0
"""Times the clearness that an excursion needs (guess: any quick turn looks a little like a corner)."""
REST_FRAMES = 6
"""Frames at rest before a start is judged (AWN Toon Institute, undated, awn.com/tooninstitute: 6 frames is the shortest hold)."""
REST = 0.1
"""Part of the full speed under which a mark rests (guess)."""
SHAKES = 12
"""Frames that a shake lasts at the least (guess: half a second)."""
TURNS_BACK = 0.7
"""Part of a shake's frames on which it turns back (calculated: of white noise two in three; a smooth way turns on none)."""
SOLID = ("foot", "knee")
"""Parts that are stopped and started by the floor."""


@dataclass(frozen=True)
class Event:
    """kind : 'pop', 'hitch', 'kink', 'no_ease' or 'jitter'

    px : its size in px of the full-size frame (a pop's excursion, the speed that a hitch breaks, a shake's size); error : standard error, px
    share : of the full speed (hitch: what is left of it; no_ease: what the first or last step has); degrees : of a kink
    off : [shape=(2,)] px, a pop's excursion in the picture; starts : of no_ease: whether it is the start
    """

    kind: str
    path: Path
    span: Span
    px: float
    error: float
    share: float = 0.0
    degrees: float = 0.0
    off: tuple[float, float] = (0.0, 0.0)
    starts: bool = True


def events_of(path: Path, width: int, limits: Limits) -> list[Event]:
    """All that is odd about one way; frames are of the movie. Nothing where the picture's scale is not known."""
    if not np.isfinite(path.scale):
        return []
    odd = oddities(path.at)
    pops = list(_pops(path, odd, width, limits))
    rest = [
        *_hitches(path, width, limits),
        *_kinks(path, odd, width, limits),
        *_eases(path, width, limits),
        *_jitters(path, odd, width, limits),
    ]
    near = [pop.span for pop in pops]
    return pops + [event for event in rest if event.kind == "jitter" or all(event.span.gap(span) > HALF for span in near)]


def _frames(path: Path, first: int, stop: int) -> Span:
    return Span(path.span.start + first, path.span.start + stop)


def _pops(path: Path, odd: Oddities, width: int, limits: Limits) -> Iterator[Event]:
    size = np.linalg.norm(odd.off, axis=1) * path.scale
    error = OFF_ERROR * path.error * path.scale
    clear = odd.other_rest > limits["clear"] * np.maximum(odd.off_rest, path.error)
    found = np.flatnonzero(clear & (size > limits["pop"] * width))
    seen = oddities(path.px).off if len(found) else odd.off
    for index in found:
        if beyond(size[index], limits["pop"] * width, float(error[max(0, index - HALF) : index + HALF + 1].max()), bars=BARS):
            off = seen[index]
            yield Event(
                "pop",
                path,
                _frames(path, int(index), int(index) + 1),
                float(np.linalg.norm(off)),
                float(error[index]),
                off=(off[0], off[1]),
            )


def _hitches(path: Path, width: int, limits: Limits) -> Iterator[Event]:
    """Steps that nearly vanish for up to LONGEST_STOP frames, between steps of full speed the same way."""
    steps, error = path.steps * path.scale, _step_error(path)
    way = np.diff(path.at, axis=0)
    slow = np.flatnonzero(steps < limits["hitch"] * _around(steps) + error)
    for stop in runs(np.isin(np.arange(len(steps)), slow)):
        before, after = steps[max(0, stop.start - NEAR) : stop.start], steps[stop.stop : stop.stop + NEAR]
        if len(stop) > LONGEST_STOP or len(before) < NEAR or len(after) < NEAR:
            continue
        full, left = min(float(np.median(before)), float(np.median(after))), float(steps[stop.start : stop.stop].max())
        goes_on = min(before[-1], after[0]) > GOES_ON * full and left < limits["hitch"] * full + error[stop.start]
        same = _cosine(way[stop.start - 2 : stop.start].sum(axis=0), way[stop.stop : stop.stop + 2].sum(axis=0)) > ALIKE
        known = beyond(full - left, SURELY_SLOWER * full, float(error[stop.start]), bars=BARS)
        if goes_on and same and known and beyond(full, limits["speed"] * width, float(error[stop.start])):
            yield Event("hitch", path, _frames(path, stop.start + 1, stop.stop + 1), full, float(error[stop.start]), share=left / full)


def _around(steps: Array) -> Array:
    """The lesser of the speeds just before and just after each step: of the second and third step away, so that a short stop does not count itself."""
    padded = np.pad(steps, NEAR, mode="edge")
    before = np.maximum(padded[: -2 * NEAR], padded[1 : 1 - 2 * NEAR])
    after = np.maximum(padded[2 * NEAR :], padded[2 * NEAR - 1 : -1])
    return np.minimum(before, after)


def _step_error(path: Path) -> Array:
    return np.hypot(path.error[1:], path.error[:-1]) * path.scale


def _cosine(a: Array, b: Array) -> float:
    sizes = float(np.linalg.norm(a) * np.linalg.norm(b))
    return float(a @ b) / sizes if sizes else 1.0


def _kinks(path: Path, odd: Oddities, width: int, limits: Limits) -> Iterator[Event]:
    """A turn on one frame at full speed. What hits something turns so by right: feet, knees and things are left out."""
    if path.mark.startswith(SOLID) or path.who[:1].islower():
        return
    steps, error, way = path.steps * path.scale, _step_error(path), np.diff(path.at, axis=0)
    clear = odd.smooth_rest > CORNER_CLEAR * limits["clear"] * np.maximum(odd.bent_rest, path.error)
    for index in np.flatnonzero(clear):
        before, after = steps[index - NEAR : index], steps[index : index + NEAR]
        full = min(float(np.median(before)), float(np.median(after)))
        cosine = _cosine(way[index - 1], way[index])
        keeps_up = min(before[-1], after[0]) > limits["keeps"] * full
        if keeps_up and CORNER[1] < cosine < CORNER[0] and beyond(full, limits["speed"] * width, float(error[index]), bars=BARS):
            degrees = float(np.degrees(np.arccos(cosine)))
            yield Event("kink", path, _frames(path, int(index), int(index) + 1), full, float(error[index]), degrees=degrees)


def _eases(path: Path, width: int, limits: Limits) -> Iterator[Event]:
    """Starts from rest and stops into rest whose first or last step has most of the full speed."""
    if path.mark.startswith(SOLID) or path.who[:1].islower():
        return
    steps, error = path.steps * path.scale, _step_error(path)
    for starts, told in ((True, steps), (False, steps[::-1])):
        for rest in runs(told < REST * limits["ease_speed"] * width):
            after = told[rest.stop : rest.stop + REST_FRAMES]
            if len(rest) < REST_FRAMES or len(after) < REST_FRAMES:
                continue
            full, first = float(np.sort(after)[-2]), float(after[0])
            share = (first - 2 * float(error.max())) / full if full else 0.0
            if share > limits["ease"] and beyond(full, limits["ease_speed"] * width, float(error.max()), bars=BARS):
                frame = rest.stop + 1 if starts else len(steps) - 1 - rest.stop
                yield Event(
                    "no_ease", path, _frames(path, frame, frame + 1), full, float(error.max()), share=min(1.0, first / full), starts=starts
                )


def _jitters(path: Path, odd: Oddities, width: int, limits: Limits) -> Iterator[Event]:
    """Places that lie to and fro from frame to frame by more than the way's own error, for half a second or more."""
    off = odd.off * path.scale / OFF_ERROR
    back = np.zeros(len(off), np.bool_)
    back[1:] = (off[1:] * off[:-1]).sum(axis=1) < 0
    size = np.linalg.norm(off, axis=1)
    error = path.error * path.scale
    over = back & (size > 0.5 * limits["jitter"] * width)
    for part in runs(_most(over, SHAKES)):
        if len(part) < SHAKES:
            continue
        cut = slice(part.start, part.stop)
        shake, own = float(np.nanmedian(size[cut])), float(np.median(error[cut]))
        if float(back[cut].mean()) > TURNS_BACK and beyond(shake, limits["jitter"] * width, own, bars=BARS):
            yield Event("jitter", path, _frames(path, part.start, part.stop), shake, own)


def _most(flags: npt.NDArray[np.bool_], frames: int) -> npt.NDArray[np.bool_]:
    """Frames of stretches of so many frames in which nearly all flags are set."""
    if len(flags) < frames:
        return np.zeros(len(flags), np.bool_)
    full = np.lib.stride_tricks.sliding_window_view(flags, frames).mean(axis=1) > TURNS_BACK
    found = np.zeros(len(flags), np.bool_)
    for first in np.flatnonzero(full):
        found[first : first + frames] = True
    return found
