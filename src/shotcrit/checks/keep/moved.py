"""Clean arcs, things that trail what carries them, and holds that stay alive to the last frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Limits
from shotcrit.checks.arc import check as arc
from shotcrit.checks.arc.events import events_of
from shotcrit.checks.finding import Curve, Stroke
from shotcrit.checks.keep.good import Good
from shotcrit.checks.parts import part_name, part_of
from shotcrit.clock import Span, runs
from shotcrit.counted import counted
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.local import oddities
from shotcrit.readings.motion.paths import Path
from shotcrit.readings.motion.smooth import spectral_arc_length, trail

Array = npt.NDArray[np.float64]
ARCS = ("hand_left", "hand_right", "head_top", "nose")
RESTS = 0.0012
"""Of the width a frame; under it a part is between two movements (guess: 2 px of 1920)."""
LEAST_FRAMES, LEAST_WAY, LEAST_BEND = 8, 0.06, 0.08
"""Of a movement whose arc is worth a word: frames, part of the picture's width, and how far it bends off its chord, of the chord (guesses)."""
UNEVEN = 0.08
"""Of the quickest step (guess: a clean half circle in sixteen frames has 0.01)."""
MOST_TRAIL = 8
"""Frames that a trail is looked for (guess: a third of a second)."""
TRAILS = (0.8, 6.0)
"""Frames by which a loose part trails well: less is stiff, more hangs by itself (common practice, no source: two to four)."""
LEAST_TRAVEL = 0.012
"""Of the width, from end to end, that the carrying part has to go for a trail to be seen (guess)."""
LONG_SHOT, LAST = 48, 12
"""Frames of a shot whose end is worth a word, and of its end (guess: two seconds, half a second)."""
SETTLED = 0.3
"""Of the shot's own median speed, that its end has at the most to be a hold."""


def arcs(readings: Readings, paths: Sequence[Path], limits: Limits) -> Iterator[Good]:
    """Movements from rest to rest, along a bend, in one smooth stroke."""
    wide = readings.movie.width or 1
    own = {limit.name: limit.value for limit in arc.LIMITS}
    for path in paths:
        if path.mark not in ARCS or not np.isfinite(path.scale):
            continue
        speed = path.steps * path.scale
        moves = [m for m in runs(speed > RESTS * wide) if len(m) >= LEAST_FRAMES and speed[m.start : m.stop].sum() > LEAST_WAY * wide]
        odd = events_of(path, wide, own) if moves else []
        for move in moves:
            span = Span(path.span.start + move.start, path.span.start + move.stop + 1)
            rough = -spectral_arc_length(np.pad(speed[move.start : move.stop], 1), float(readings.movie.rate))
            clean = rough < limits["smooth"] and not any(event.span.overlap(span) for event in odd) and _even(path, move)
            if clean and _bend(path.px[move.start : move.stop + 1]) > LEAST_BEND:
                yield Good(
                    "arc", path.who, span, round(rough, 2), "spectral arc length", "smooth",
                    f"{part_of(path.who, path.mark)} goes in one clean arc over {readings.numbering.text(span)}", path.level,
                    0.7 if path.level == 3 else 0.6, float(speed[move.start : move.stop].sum()), (_spacing(path, move),), (_way(readings, path, move, span),),
                )  # fmt: skip


def _even(path: Path, move: Span) -> bool:
    """Whether no frame of a movement lies off the path of its neighbours by more than UNEVEN of its quickest step."""
    off = np.linalg.norm(oddities(path.at).off[move.start : move.stop + 1], axis=1)
    return bool(np.isfinite(off).any()) and float(np.nanmax(off)) < UNEVEN * float(path.steps[move.start : move.stop].max())


def _bend(px: Array) -> float:
    """How far a way lies off its chord, of the chord."""
    chord = px[-1] - px[0]
    long = float(np.linalg.norm(chord))
    across = np.abs((px[:, 0] - px[0, 0]) * chord[1] - (px[:, 1] - px[0, 1]) * chord[0])
    return float(across.max()) / long**2 if long > 0 else 0.0


def _spacing(path: Path, move: Span) -> Curve:
    steps = path.steps[move.start : move.stop] * path.scale
    return Curve(f"spacing of {part_name(path.mark)}", "px a frame", path.span.start + move.start + 1, tuple(map(float, steps)))


def _way(readings: Readings, path: Path, move: Span, span: Span) -> Stroke:
    size = (readings.movie.width or 1, readings.movie.height or 1)
    points = tuple((float(x) / size[0], float(y) / size[1]) for x, y in path.px[move.start : move.stop + 1])
    return Stroke((span.start + span.last) // 2, "path", points, "")


def overlap(readings: Readings, paths: Sequence[Path], limits: Limits) -> Iterator[Good]:
    """Loose parts of things that follow the part by which they are held, some frames late."""
    held = {name for contact in (readings.cast.contacts if readings.cast else ()) for name in (contact.a, contact.b)}
    people = {person.name for person in readings.cast.characters} if readings.cast else set()
    carried = [p for p in paths if p.who not in people and f"{p.who}.{p.mark}" in held]
    for lead in carried:
        for loose in paths:
            both = lead.span.overlap(loose.span)
            if loose.who != lead.who or loose in carried or loose.level != lead.level or both is None or len(both) < 4 * MOST_TRAIL:
                continue
            a, b = (p.px[both.start - p.span.start : both.stop - p.span.start, 0] for p in (lead, loose))
            if np.ptp(a) < LEAST_TRAVEL * (readings.movie.width or 1):
                continue
            late, alike = trail(a, b, MOST_TRAIL)
            if TRAILS[0] <= late <= TRAILS[1] and alike >= limits["alike"]:
                frames = counted(round(late), "frame")
                yield Good(
                    "overlap", lead.who, both, round(late, 1), "frames that it trails", "alike",
                    f"{part_of(lead.who, loose.mark)} trails the {part_name(lead.mark)} by {frames} over {readings.numbering.text(both)}", lead.level,
                    0.7 if lead.level == 3 else 0.6, alike,
                    (Curve(f"{part_name(loose.mark)} sideways, {part_name(lead.mark)} as wanted", "px", both.start, _middled(b), _middled(a)),),
                )  # fmt: skip


def _middled(values: Array) -> tuple[float, ...]:
    return tuple(map(float, values - np.median(values)))


def alive(readings: Readings, paths: Sequence[Path], limits: Limits) -> Iterator[Good]:
    """Shots that end in a hold which never dies: everybody slow, nobody still, no frame that repeats."""
    wide = readings.movie.width or 1
    dead = readings.picture.dead if readings.picture is not None else None
    for shot in {path.shot for path in paths}:
        end = Span(max(shot.start, shot.stop - LAST), shot.stop)
        there = [p for p in paths if p.shot == shot and p.span.stop == shot.stop and len(p.span) >= LONG_SHOT and np.isfinite(p.scale)]
        if len(shot) < LONG_SHOT or not there or dead is None or dead[end.start : end.stop].any():
            continue
        last = [float(np.median(p.steps[-LAST:])) * p.scale - float(np.median(p.error)) * p.scale for p in there]
        usual = [float(np.median(p.steps)) * p.scale for p in there]
        most = int(np.argmax(last))
        if max(last) < SETTLED * max(usual) and last[most] > limits["alive"] * wide:
            yield Good(
                "alive", there[most].who, end, round(last[most], 2), "px a frame", "alive",
                f"The hold stays alive to the shot's last frame, {readings.numbering.shown(shot.last)}", there[most].level, 0.6, last[most],
            )  # fmt: skip
