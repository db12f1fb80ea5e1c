"""gravity: what is thrown, falls or jumps, against 9.80665 m/s2. Level 3 in metres; level 2 by the height of somebody in the shot, which is an assumption.

Only what goes up and down with one acceleration all the way is a flight (readings/motion/flight.py); a thing that the cast says is held, and a body with a
foot on the ground, are on none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import Curve, Finding, Limit, NotMeasured, Result, Stroke
from shotcrit.checks.parts import whose
from shotcrit.checks.sure import about, beyond
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.flight import Flight, flights
from shotcrit.readings.motion.paths import Path, paths_of

Array = npt.NDArray[np.float64]

ID = "gravity"
TITLE = "Falls and jumps"
HELP = "Holds the acceleration of what is thrown, falls or jumps against gravity, and says how many frames the flight should take."
NAME = "gravity"
VERSION = 1
COLUMN: Column = "body"
KINDS = (Kind("floats", "floats"), Kind("heavy", "falls too fast"))
NEEDS = Needs(("cast",), marks=("hips", "head_top", "foot_left", "foot_right"))
G = 9.80665
"""m/s2, standard gravity (3rd CGPM 1901, BIPM, exact)."""
LIMITS = (
    Limit("thing", 0.15, "of gravity", "3rd CGPM (1901, BIPM): 9.80665 m/s2; guess: the share, a flight of 13 frames where 12 are right",
          "How far the acceleration of a thing may lie from gravity."),
    Limit("body", 0.35, "of gravity", "3rd CGPM (1901, BIPM): 9.80665 m/s2; measured: in captured jumps hips fall within a third of it",
          "The same of a body, whose weight moves about its hips."),
    Limit("stature", 1.7, "m", "from memory: mean height of grown people, men and women together",
          "How tall people are taken to be where no scene tells."),
)  # fmt: skip
ANKLE_TO_TOP = 0.95
"""Of a person's height, that lies between the ankle, where a foot is marked, and the top of the head (from memory)."""
STATURE_ERROR = 0.06
"""Relative standard error of a height that is assumed (from memory: grown people differ by 7 cm; guess: the rest, for figures that nobody measured)."""
OFF_GROUND_M = 0.04
"""m over their lowest place, from which feet are in the air (guess: half of a foot's own height)."""


@dataclass(frozen=True)
class _Flying:
    """what : as called in a sentence; who : whose finding; path : drawn; rests_on : as a finding's"""

    who: str
    what: str
    path: Path
    flight: Flight
    body: bool
    scale_error: float
    rests_on: tuple[str, ...]


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds floats and heavy. value: m/s2."""
    if readings.medium != "cg" or readings.cast is None:
        return Result(not_measured=() if readings.cast else (NotMeasured(ID, None, "props or characters in the cast"),))
    flying = flights_of(readings, limits["stature"])
    return Result(tuple(f for one in flying if (f := _judged(readings, one, limits)) is not None))


def flights_of(readings: Readings, stature: float) -> list[_Flying]:
    """Everything that flies, each flight once: of a thing's marks the one that shows it longest."""
    found: list[_Flying] = []
    for one in sorted(_all(readings, stature), key=lambda f: -len(f.flight.span)):
        if all(one.who != other.who or one.flight.span.overlap(other.flight.span) is None for other in found):
            found.append(one)
    return sorted(found, key=lambda f: f.flight.span)


def _all(readings: Readings, stature: float) -> Iterator[_Flying]:
    paths = paths_of(readings)
    people = {person.name for person in readings.cast.characters} if readings.cast else set()
    for path in _centres([p for p in paths if p.who not in people]):
        for part in _let_go(readings, path):
            yield from _flown(readings, part, paths, stature, people)
    for path in paths:
        if path.who in people and path.mark == "hips":
            yield from _flown(readings, path, paths, stature, people)


def _centres(paths: Sequence[Path]) -> Iterator[Path]:
    """A thing's marks that are seen over the same frames, taken together: their middle does not turn."""
    groups: dict[tuple[str, Span], list[Path]] = {}
    for path in paths:
        groups.setdefault((path.who, path.span), []).append(path)
    for own in groups.values():
        at, px = (np.mean([getattr(p, name) for p in own], axis=0) for name in ("at", "px"))
        yield replace(own[0], at=at, px=px, error=np.mean([p.error for p in own], axis=0))


def _let_go(readings: Readings, path: Path) -> Iterator[Path]:
    """The stretches on which the cast does not say that the thing is held."""
    first = readings.movie.first_frame
    held = np.zeros(len(path.at), np.bool_)
    for contact in readings.cast.contacts if readings.cast else ():
        if path.who in (contact.a.partition(".")[0], contact.b.partition(".")[0]):
            held[max(0, contact.first - first - path.span.start) : max(0, contact.last + 1 - first - path.span.start)] = True
    edges = np.flatnonzero(np.diff(np.concatenate([[True], held, [True]]).astype(int)))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        where = Span(path.span.start + start, path.span.start + stop)
        yield replace(path, span=where, at=path.at[start:stop], px=path.px[start:stop], error=path.error[start:stop])


def _flown(readings: Readings, path: Path, paths: Sequence[Path], stature: float, people: set[str]) -> Iterator[_Flying]:
    body = path.who in people
    scale, scale_error, rests_on = (1.0, 0.0, ()) if path.level == 3 else _metres(readings, path, paths, stature)
    if not np.isfinite(scale):
        return
    up = path.at[:, 1] * (scale if path.level == 3 else -scale)
    across = path.at[:, [0, 2]] * scale if path.level == 3 else path.at[:, :1] * scale
    for flight in flights(up, across, path.error * scale, path.span.start, float(readings.movie.rate)):
        if _off_the_ground(path, paths, flight.span, scale) if body else flight.lands:
            yield _Flying(path.who, whose(path.who), path, flight, body, scale_error, rests_on)


def _metres(readings: Readings, path: Path, paths: Sequence[Path], stature: float) -> tuple[float, float, tuple[str, ...]]:
    """(metres a px, relative error, what that rests on), by whoever stands nearest; nan where nobody is seen from head to foot."""
    best: tuple[float, float, str] | None = None
    for top in (p for p in paths if p.mark == "head_top" and p.level == 2 and p.span.overlap(path.span) is not None):
        feet = [p for p in paths if p.who == top.who and p.mark.startswith("foot_") and p.span.overlap(top.span) is not None]
        tall = max((_distance(top, foot) for foot in feet), default=0.0)
        away = float(np.linalg.norm(np.mean(top.px, axis=0) - np.mean(path.px, axis=0)))
        if tall > 0 and (best is None or away < best[0]):
            best = away, tall, top.who
    if best is None:
        return float("nan"), 0.0, ()
    _, tall, who = best
    near = "" if who == path.who else f" and stands as far away as {whose(path.who)} flies"
    return ANKLE_TO_TOP * stature / tall, STATURE_ERROR, (f"{who} is {stature:g} m tall{near}",)


def _distance(top: Path, foot: Path) -> float:
    """The greatest distance between two marks over the frames that both are seen, px."""
    both = top.span.overlap(foot.span)
    assert both is not None
    a, b = (p.px[both.start - p.span.start : both.stop - p.span.start] for p in (top, foot))
    return float(np.quantile(np.linalg.norm(a - b, axis=1), 0.9))


def _off_the_ground(path: Path, paths: Sequence[Path], span: Span, scale: float) -> bool:
    """Whether both feet are seen over the flight, and are well over where they stand in this shot."""
    feet = [p for p in paths if p.who == path.who and p.mark.startswith("foot_") and p.shot == path.shot and p.span.overlap(span) == span]
    if len(feet) < 2:
        return False
    for foot in feet:
        height = foot.at[:, 1] * scale if foot.level == 3 else -foot.at[:, 1] * scale
        inside = height[span.start - foot.span.start : span.stop - foot.span.start]
        if float(np.median(inside)) < float(np.quantile(height, 0.1)) + OFF_GROUND_M:
            return False
    return True


def _judged(readings: Readings, flying: _Flying, limits: Limits) -> Finding | None:
    flight, share = flying.flight, limits["body" if flying.body else "thing"]
    error = float(np.hypot(flight.error, flying.scale_error * flight.acceleration))
    if not beyond(flight.acceleration - G, share * G, error):
        return None
    floats = flight.acceleration < G
    size = about(flight.acceleration, error, "m/s²").replace("m/s²s", "m/s²") or f"{'less' if floats else 'more'} than gravity"
    frames, right = len(flight.span) + 2, round((len(flight.span) + 1) * (flight.acceleration / G) ** 0.5) + 1
    verb = (
        ("floats" if floats else "drops too fast")
        if not flying.body
        else ("floats through the jump" if floats else "comes down too fast in the jump")
    )
    return Finding(
        check=ID, kind="floats" if floats else "heavy", who=flying.who, span=flight.span, value=round(flight.acceleration, 2), unit="m/s²",
        limit=round(G * (1 + (-share if floats else share)), 2), weight="polish", confidence=0.85 if flying.path.level == 3 else 0.6,
        says=f"{flying.what} {verb} over {readings.numbering.text(flight.span)}: it falls with {size} where gravity is 9.8",
        suggest=f"Give the flight {counted(right, 'frame')} instead of {frames}, or {'more' if floats else 'less'} height in the same time",
        basis=next(one.basis for one in LIMITS if one.name == ("body" if flying.body else "thing")), level=flying.path.level, rests_on=flying.rests_on,
        curves=(_curve(flying),), strokes=tuple(_drawn(readings, flying)),
    )  # fmt: skip


def _curve(flying: _Flying) -> Curve:
    """Steps of the height from frame to frame, px; as wanted, they grow by the same each frame, which gravity gives."""
    path, span = flying.path, flying.flight.span
    rows = path.px[span.start - path.span.start : span.stop - path.span.start, 1]
    steps = np.diff(rows)
    grow = np.mean(np.diff(steps)) * G / flying.flight.acceleration
    wanted = np.mean(steps) + grow * (np.arange(len(steps)) - (len(steps) - 1) / 2)
    return Curve("fall from frame to frame", "px a frame", span.start + 1, tuple(map(float, steps)), tuple(map(float, wanted)))


def _drawn(readings: Readings, flying: _Flying) -> Iterator[Stroke]:
    """The flight with a tick a frame, on its middle frame."""
    path, span = flying.path, flying.flight.span
    size = (readings.movie.width or 1, readings.movie.height or 1)
    rows = path.px[span.start - path.span.start : span.stop - path.span.start]
    if np.isfinite(rows).all():
        yield Stroke((span.start + span.last) // 2, "path", tuple((float(x) / size[0], float(y) / size[1]) for x, y in rows), "")
