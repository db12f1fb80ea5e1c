"""echo: a bob or shake in one part of a body that nothing else of it feels. Levels 2 and 3.

A body is one mass on springs: what bobs at one place is felt along hips, chest and head, smaller and a little later. Hands may wave and feet may tap by
themselves, and a head may nod by turning; knees, hips, chest, shoulders, and a head that goes up and down as a whole, do not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import Curve, Finding, Limit, NotMeasured, Result, Stroke
from shotcrit.checks.parts import part_name
from shotcrit.checks.sure import BAR
from shotcrit.clock import Span, runs
from shotcrit.counted import counted
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.bobs import Swings, rates, swings_of
from shotcrit.readings.motion.paths import Path, paths_of
from shotcrit.readings.shots import shots_of

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

ID = "echo"
TITLE = "What the body feels"
HELP = "Finds a bob or shake in one part of a body that hips, chest, head and the rest do not feel."
NAME = "echo"
VERSION = 1
COLUMN: Column = "body"
KINDS = (Kind("alone", "alone"),)
TRUNK = ("hips", "chest", "head_top", "nose", "shoulder_left", "shoulder_right")
NEEDS = Needs(("cast",), marks=(*TRUNK, "knee_left", "knee_right"))
LIMITS = (
    Limit("bob", 0.004, "of the picture's width", "guess: 8 px of 1920 from end to end are seen as a bob",
          "How far a part may bob by itself, from end to end."),
    Limit("felt", 0.1, "of the bob", "measured: on 130 s of captured motion nothing is told at it; guess: the size, a tenth",
          "The part of a bob that hips, chest, shoulders or, below the head, anything else of the trunk has to feel."),
    Limit("even", 0.8, "of the movement", "guess: a bob is as even as a sine within a fifth", "How evenly a part has to go to and fro to be said to bob."),
)  # fmt: skip
HEAD = ("head_top", "nose")
MARKS_NEEDED = "marks on hips, chest, shoulders, head and knees that are followed, or a scene with them"
FEELS = ("hips", "chest", "shoulder_left", "shoulder_right")
LIKE_ONE = 0.3
"""How far the two marks of a head that bobs as a whole may differ in size (guess: one that nods differs by far more)."""
LEAST_OTHERS = 2
"""Marks of the trunk, apart from what bobs, that have to be seen before a bob is said to be alone."""


TRIM = 6
"""Part of a stretch at either end in which a bob may not have begun: one that fills two thirds of a stretch is even enough (measured on made-up bobs)."""


@dataclass(frozen=True)
class _Bob:
    """part : by its marks; size : half a bob, px; felt : the most of it in another part; rate_hz : bobs a second"""

    marks: tuple[str, ...]
    span: Span
    size: float
    felt: float
    rate_hz: float


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kind alone. value: the bob from end to end, mm at level 3, px at level 2."""
    if readings.medium != "cg":
        return Result()
    paths = [path for path in paths_of(readings) if path.mark in NEEDS.marks]
    people = [person.name for person in readings.cast.characters] if readings.cast else []
    found: list[Finding] = []
    for shot in shots_of(readings):
        for who in people:
            own = [path for path in paths if path.who == who and path.shot == shot]
            swings = {one.mark: one for one in swings_of(own, shot, float(readings.movie.rate))}
            found += [_finding(readings, who, bob, own, limits) for bob in _apart(_bobs(swings, own, readings, limits))]
    seen = {path.who for path in paths}
    missing = [NotMeasured(ID, who, MARKS_NEEDED) for who in people if who not in seen]
    return Result(tuple(found), tuple(missing or ([] if people else [NotMeasured(ID, None, "a character in the cast")])))


def _bobs(swings: Mapping[str, Swings], paths: Sequence[Path], readings: Readings, limits: Limits) -> Iterator[_Bob]:
    scale = {path.mark: path.scale for path in paths}
    for marks in _parts(swings):
        main = swings[marks[0]]
        others = [swings[name] for name in FEELS if name in swings and name not in marks]
        if not np.isfinite(scale.get(main.mark, np.nan)) or len(others) < LEAST_OTHERS:
            continue
        best = np.where(np.isfinite(main.share), main.share, -1).argmax(axis=1)
        rows = np.arange(len(main.starts))
        size, share = main.size[rows, best], main.share[rows, best]
        felt = _felt(others, rows, best, size)
        seen = 2 * (size - BAR * main.error) * scale[main.mark] > limits["bob"] * (readings.movie.width or 1)
        alone = (best > 0) & (share > limits["even"]) & seen & (felt < limits["felt"])
        for mark in marks[1:]:
            alone &= np.abs(swings[mark].size[rows, best] / np.maximum(size, 1e-12) - 1) < LIKE_ONE
        for stretch in runs(alone):
            cut = slice(stretch.start, stretch.stop)
            top = stretch.start + int(np.argmax(size[cut]))
            trim = main.length // TRIM
            where = Span(int(main.starts[stretch.start]) + trim, int(main.starts[stretch.stop - 1]) + main.length - trim)
            yield _Bob(marks, where, float(size[top]), float(felt[top]), float(rates()[best[top]]))


def _apart(bobs: Iterable[_Bob]) -> list[_Bob]:
    """Of those at one time the largest: one cause is one finding."""
    kept: list[_Bob] = []
    for bob in sorted(bobs, key=lambda b: -b.size):
        if all(bob.span.overlap(other.span) is None for other in kept):
            kept.append(bob)
    return sorted(kept, key=lambda b: b.span)


def _parts(swings: Mapping[str, Swings]) -> Iterator[tuple[str, ...]]:
    """Each part by its marks; a head only where both of its marks are seen."""
    for name in swings:
        if name not in HEAD:
            yield (name,)
    if all(name in swings for name in HEAD):
        yield HEAD


def _felt(others: Sequence[Swings], rows: npt.NDArray[np.int64], best: npt.NDArray[np.int64], size: Array) -> Array:
    """The greatest part of the bob that is, or may be, in another part; 1 where too little of the body is known. A head may nod in the same rhythm."""
    sizes = np.stack([one.size[rows, best] for one in others])
    errors = np.stack([one.error for one in others])
    known = np.isfinite(sizes)
    may_be = np.where(known, (sizes + BAR * errors) / np.maximum(size, 1e-12), 0.0)
    return np.where(known.sum(axis=0) >= LEAST_OTHERS, may_be.max(axis=0), 1.0)


def _finding(readings: Readings, who: str, bob: _Bob, paths: Sequence[Path], limits: Limits) -> Finding:
    path = next(p for p in paths if p.mark == bob.marks[0] and p.span.overlap(bob.span) is not None)
    name = part_name(bob.marks[0])
    full, unit = 2 * bob.size, 1000 if path.level == 3 else 1
    amount = counted(round(1000 * full), "mm", "mm") if path.level == 3 else f"about {counted(round(full), 'px', 'px')}"
    limit = limits["bob"] * (readings.movie.width or 1) / path.scale
    times = counted(bob.rate_hz, "time", digits=1)
    return Finding(
        check=ID, kind="alone", who=who, span=bob.span, value=round(unit * full, 1), unit="mm" if path.level == 3 else "px of the full-size frame",
        limit=round(unit * limit, 1), weight="polish", confidence=0.85 if path.level == 3 else 0.75,
        says=f"{who}'s {name} bobs by {amount} {times} a second over {readings.numbering.text(bob.span)}, and nothing else in the body feels it",
        suggest=f"Let hips and chest take up a tenth of it, a frame or two later, or quieten the {name}",
        basis=next(one.basis for one in LIMITS if one.name == "felt"), level=path.level,
        curves=(_curve(path, bob, paths),), strokes=tuple(_chain(readings, bob, paths)),
    )  # fmt: skip


def _curve(path: Path, bob: _Bob, paths: Sequence[Path]) -> Curve:
    """Height of the part that bobs, and of the hips or chest beside it, px, each from its own middle; up is positive."""
    beside = next(
        (
            p
            for name in ("hips", "chest")
            for p in paths
            if p.mark == name and p.span.start <= bob.span.start and p.span.stop >= bob.span.stop
        ),
        None,
    )
    heights = [_height(p, bob.span) for p in (path, beside) if p is not None]
    name = f"{part_name(path.mark)} up and down" + (f", {part_name(beside.mark)} as wanted" if beside else "")
    return Curve(name, "px", bob.span.start, heights[0], heights[1] if beside else ())


def _height(path: Path, span: Span) -> tuple[float, ...]:
    first = max(0, span.start - path.span.start)
    rows = path.px[first : first + len(span), 1]
    return tuple(float(v) for v in np.median(rows) - rows)


def _chain(readings: Readings, bob: _Bob, paths: Sequence[Path]) -> Iterator[Stroke]:
    """How far the part goes, from its lowest to its highest place, and the chain from hips to head that stands still beside it, on the middle frame."""
    size = (readings.movie.width or 1, readings.movie.height or 1)
    frame = (bob.span.start + bob.span.last) // 2
    for path in paths:
        if path.mark == bob.marks[0] and frame in path.span:
            part = path.px[max(0, bob.span.start - path.span.start) : bob.span.stop - path.span.start]
            ends = part[[int(part[:, 1].argmax()), int(part[:, 1].argmin())]]
            label = f"up and down, {counted(bob.rate_hz, 'time', digits=1)} a second"
            yield Stroke(frame, "slip", tuple((float(x) / size[0], float(y) / size[1]) for x, y in ends), label)
    spots = [
        next((p.px[frame - p.span.start] for p in paths if p.mark == name and frame in p.span), None)
        for name in ("hips", "chest", "head_top")
    ]
    known = [(float(s[0]) / size[0], float(s[1]) / size[1]) for s in spots if s is not None]
    if len(known) > 1:
        yield Stroke(frame, "should", tuple(known), "should feel it")
