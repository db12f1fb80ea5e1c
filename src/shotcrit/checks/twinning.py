"""twinning: both hands doing the same thing on the same frames, mirrored or alike. Levels 2 and 3.

Against the chest, so that a body that turns or walks does not count. Two hands that carry one thing have to move together, and are left out.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import COMMON, Curve, Finding, Limit, NotMeasured, Result, Stroke
from shotcrit.checks.sure import BAR
from shotcrit.clock import Span, runs
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.paths import Path, paths_of

Array = npt.NDArray[np.float64]

ID = "twinning"
TITLE = "Twinning"
HELP = "Finds hands that do the same thing on the same frames, mirrored or alike."
NAME = "twinning"
VERSION = 1
COLUMN: Column = "body"
KINDS = (Kind("hands", "hands"),)
NEEDS = Needs(("cast",), marks=("hand_left", "hand_right", "chest", "shoulder_left", "shoulder_right"))
LIMITS = (
    Limit("alike", 0.98, "of the movement", f"{COMMON}: arms that move as one read as a puppet's; measured: 0.97 in captured people who stand",
          "How much of the two hands' movement may be one and the same."),
    Limit("lasts", 16, "frames", "guess: two thirds of a second, the time of one gesture", "How long hands may move as one."),
    Limit("speed", 0.002, "of the width a frame", "guess: 4 px of 1920 a frame; guess: slower hands rest", "Speed from which on hands move."),
)  # fmt: skip


EFFORT = 0.2
"""Of the hands' speed; where hips go faster, the whole body works (a jump, a lift), and both arms swing with it as they do in life (measured on captured
jumps: 0.3 and more)."""


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kind hands. value: how much of the movement is the same."""
    if readings.medium != "cg":
        return Result()
    paths = paths_of(readings)
    people = [person.name for person in readings.cast.characters] if readings.cast else []
    found: list[Finding] = []
    missing: list[NotMeasured] = []
    for who in people:
        own = [path for path in paths if path.who == who]
        if not {"hand_left", "hand_right"} <= {path.mark for path in own}:
            missing.append(NotMeasured(ID, who, "marks on both hands that are followed, or a scene with them"))
        elif not _carry(readings, who):
            found += _twins(readings, who, own, limits)
    return Result(tuple(found), tuple(missing))


def _carry(readings: Readings, who: str) -> bool:
    """Whether both of somebody's hands are in contacts with one thing, or with each other."""
    held: dict[str, set[str]] = {"hand_left": set(), "hand_right": set()}
    for contact in readings.cast.contacts if readings.cast else ():
        for one, other in ((contact.a, contact.b), (contact.b, contact.a)):
            name, _, mark = one.partition(".")
            if name == who and mark in held:
                held[mark].add(other.partition(".")[0])
    return bool(held["hand_left"] & held["hand_right"]) or who in held["hand_left"] | held["hand_right"]


def _twins(readings: Readings, who: str, own: list[Path], limits: Limits) -> Iterator[Finding]:
    for left in (path for path in own if path.mark == "hand_left"):
        for right in (path for path in own if path.mark == "hand_right" and path.shot == left.shot):
            both = left.span.overlap(right.span)
            if both is not None and len(both) > limits["lasts"] and np.isfinite(left.scale):
                yield from _moved_as_one(readings, who, (left, right), both, own, limits)


def _moved_as_one(readings: Readings, who: str, hands: tuple[Path, Path], both: Span, own: list[Path], limits: Limits) -> Iterator[Finding]:
    ways = [_against_the_chest(path, both, own) for path in hands]
    steps = [np.diff(way, axis=0) for way in ways]
    mirror = _mirror(both, own, ways[0].shape[1])
    error = max(float(np.median(path.error)) for path in hands) * 2
    length = int(limits["lasts"])
    alike = np.max([_same(steps[0], other, length, error) for other in (steps[1], steps[1] @ mirror)], axis=0)
    slow = np.minimum(*[_moving(step, length) for step in steps]) * hands[0].scale
    wide = readings.movie.width or 1
    slow = np.where(_hips(own, both, length) > EFFORT * slow, 0.0, slow)
    for run_ in runs((alike > limits["alike"]) & (slow - BAR * error * hands[0].scale > limits["speed"] * wide)):
        span = Span(both.start + run_.start, both.start + run_.stop + length)
        share = float(alike[run_.start : run_.stop].max())
        yield Finding(
            check=ID, kind="hands", who=who, span=span, value=round(share, 2), unit="of the movement is the same", limit=limits["alike"], weight="polish",
            confidence=0.7 if hands[0].level == 3 else 0.55, says=f"{who}'s hands move as one over {readings.numbering.text(span)}",
            suggest="Let one hand lead by two to four frames, and give the other less of the way",
            basis=LIMITS[0].basis, level=hands[0].level, curves=(_curve(ways, hands, both, span),), strokes=tuple(_drawn(readings, hands, span)),
        )  # fmt: skip


def _against_the_chest(path: Path, both: Span, own: list[Path]) -> Array:
    """Places against the chest, or the middle of the shoulders, or as they are where neither is seen."""
    way = path.at[both.start - path.span.start : both.stop - path.span.start]
    for names in (("chest",), ("shoulder_left", "shoulder_right")):
        seen = [p for p in own if p.mark in names and p.level == path.level and p.span.overlap(both) == both]
        if len(seen) == len(names):
            return np.asarray(way - np.mean([p.at[both.start - p.span.start : both.stop - p.span.start] for p in seen], axis=0))
    return way


def _hips(own: list[Path], both: Span, length: int) -> Array:
    """Speed of the hips over each stretch, px a frame; 0 where they are not seen."""
    hips = next((p for p in own if p.mark == "hips" and p.span.overlap(both) == both), None)
    if hips is None:
        return np.zeros(len(both) - length)
    way = hips.at[both.start - hips.span.start : both.stop - hips.span.start]
    return _moving(np.diff(way, axis=0), length) * hips.scale


def _mirror(both: Span, own: list[Path], d: int) -> Array:
    """Matrix [shape=(d, d)] that turns left into right about the body's middle, as the shoulders lie; sideways in the picture where they are not known."""
    seen = {
        p.mark: p.at[both.start - p.span.start : both.stop - p.span.start]
        for p in own
        if p.mark.startswith("shoulder_") and p.span.overlap(both) == both
    }
    across = np.eye(d)[0]
    if d == 3 and len(seen) == 2:
        across = np.median(seen["shoulder_left"] - seen["shoulder_right"], axis=0)
        across = across / max(float(np.linalg.norm(across)), 1e-9)
    return np.eye(d) - 2 * np.outer(across, across)


def _same(one: Array, other: Array, length: int, error: float) -> Array:
    """How much of two movements is the same, over each stretch of so many steps: 1 for one and the same, 0 for two that have nothing in common.

    same = 1 - sum |one - other|^2 / sum (|one|^2 + |other|^2), and a little less for what their error may hide
    """
    apart = _sums(np.square(one - other).sum(axis=1), length)
    whole = _sums(np.square(one).sum(axis=1) + np.square(other).sum(axis=1), length)
    return np.asarray(1 - apart / np.maximum(whole, 1e-18) - length * np.square(error) / np.maximum(whole, 1e-18))


def _sums(values: Array, length: int) -> Array:
    total = np.concatenate([[0.0], np.cumsum(values)])
    return np.asarray(total[length:] - total[:-length])


def _moving(steps: Array, length: int) -> Array:
    """Root mean square of the steps over each stretch."""
    return np.sqrt(_sums(np.square(steps).sum(axis=1), length) / length)


def _curve(ways: list[Array], hands: tuple[Path, Path], both: Span, span: Span) -> Curve:
    """How fast each hand goes, px a frame."""
    rows = slice(span.start - both.start, span.stop - both.start)
    speeds = [np.linalg.norm(np.diff(way[rows], axis=0), axis=1) * path.scale for way, path in zip(ways, hands, strict=True)]
    return Curve(
        "left hand, and the right hand as wanted", "px a frame", span.start + 1, tuple(map(float, speeds[0])), tuple(map(float, speeds[1]))
    )


def _drawn(readings: Readings, hands: tuple[Path, Path], span: Span) -> Iterator[Stroke]:
    size = (readings.movie.width or 1, readings.movie.height or 1)
    for path in hands:
        rows = path.px[span.start - path.span.start : span.stop - path.span.start]
        yield Stroke((span.start + span.last) // 2, "path", tuple((float(x) / size[0], float(y) / size[1]) for x, y in rows), "")
