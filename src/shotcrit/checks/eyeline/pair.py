"""Two who look at each other: their looks should run along one line, one up by as much as the other down.

That needs no depth: in one picture the two directions are opposite whatever the lens or the camera's tilt. In a scene the heights are taken in the
world, so that they are right for two cameras too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from shotcrit.checks.eyeline.finding import Frames, Limits, Told, finding_of, parts_of
from shotcrit.checks.eyeline.judge import TARGET_BASIS, mean_look, seen_miss, steady_frames
from shotcrit.checks.eyeline.words import turns
from shotcrit.checks.finding import Finding, pair_of
from shotcrit.checks.sure import about, beyond
from shotcrit.clock import Span
from shotcrit.geometry.gaze import mean_direction, miss
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.wanted import USUAL_LENS, JudgedLook

Array = npt.NDArray[np.float64]

HEIGHTS_BASIS = f"calculated: two looks along one line rise and fall by the same angle; {TARGET_BASIS}"
NEAR_FRAMES = 48
"""Frames between two looks on the sides of a cut that still answer each other (guess: two seconds)."""


@dataclass(frozen=True)
class Pair:
    """Two looks at each other, and the resting frames of each: the same ones where they share a picture."""

    one: JudgedLook
    other: JudgedLook
    frames: tuple[Frames, Frames]
    together: bool


def pairs_of(readings: Readings, looks: Sequence[JudgedLook], limits: Limits) -> list[Pair]:
    """Every two looks that answer each other: at once in one shot; a look that none answers there, with those on the other side of a cut."""
    answers = [(a, b) for i, a in enumerate(looks) for b in looks[i + 1 :] if a.who == b.at and a.at == b.who]
    rests = {id(look): steady_frames(readings, look, limits) for pair in answers for look in pair}
    least = limits["fewest_frames"]
    shared = [(a, b, np.intersect1d(rests[id(a)], rests[id(b)])) for a, b in answers]
    together = [Pair(a, b, (both, both), together=True) for a, b, both in shared if len(both) >= least]
    answered = {id(look) for pair in together for look in (pair.one, pair.other)}
    return together + [
        Pair(a, b, (rests[id(a)], rests[id(b)]), together=False)
        for a, b in answers
        if not {id(a), id(b)} & answered and a.span.overlap(b.span) is None and a.span.gap(b.span) <= NEAR_FRAMES
        and min(len(rests[id(a)]), len(rests[id(b)])) >= least
    ]  # fmt: skip


def pair_findings(readings: Readings, looks: Sequence[JudgedLook], limits: Limits) -> Iterator[Finding]:
    """Findings heights and do_not_meet, about both of a pair: the two looks miss each other, and these two alone do not tell whose fault it is."""
    for pair in pairs_of(readings, looks, limits):
        if pair.one.exact and pair.other.exact:
            yield from _heights(readings, pair, limits)
        elif pair.together:
            yield from _opposite(readings, pair, limits)


def of_one_of_a_pair(readings: Readings, looks: Sequence[JudgedLook], limits: Limits, told: Sequence[Finding]) -> list[Finding]:
    """`told` without what pictures cannot tell of one alone: where both of a pair are said to miss the other, a wrong depth would do, or one wrong look."""
    pairs = [pair for pair in pairs_of(readings, looks, limits) if pair.together and not (pair.one.exact and pair.other.exact)]

    def missed(look: JudgedLook) -> list[Finding]:
        return [f for f in told if f.kind == "off_target" and f.who == look.who and f.span.overlap(look.span) is not None]

    both = [f for pair in pairs if missed(pair.one) and missed(pair.other) for look in (pair.one, pair.other) for f in missed(look)]
    return [f for f in told if f not in both]


def world_heights(readings: Readings, pair: Pair) -> tuple[float, float]:
    """How far each looks up, degrees in the world: of the camera's direction through the camera's own pose of each frame."""
    heights = []
    for look, frames in zip((pair.one, pair.other), pair.frames, strict=True):
        to_world = np.swapaxes(np.array([readings.cameras[i].world_to_camera for i in frames], np.float64)[:, :3, :3], 1, 2)
        world = mean_direction(np.einsum("nij,nj->ni", to_world, look.eyes.direction[frames]))
        heights.append(float(np.degrees(np.arcsin(np.clip(world[1], -1, 1)))))
    return heights[0], heights[1]


def _heights(readings: Readings, pair: Pair, limits: Limits) -> Iterator[Finding]:
    """World elevations that do not answer each other, though each look alone passes for the other's face."""
    if not readings.cameras:
        return
    one, other = world_heights(readings, pair)
    gap = one + other
    if not beyond(gap, limits["heights_deg"], 0.0):
        return
    way = "down" if gap > 0 else "up"
    yield _finding(readings, pair, Told(
        "heights", gap, "degrees, + when the two looks are too high for each other", limits["heights_deg"], 0.0,
        f"{_height(pair.one.who, one)} and {_height(pair.other.who, other)}: together {about(gap, 0.0, 'degree')} too {'high' if gap > 0 else 'low'}",
        f"Bring the two looks {way} by {about(gap, 0.0, 'degree')} together", HEIGHTS_BASIS, ("height",),
    ))  # fmt: skip


def _height(who: str, degrees: float) -> str:
    return f"{who} looks {'up' if degrees >= 0 else 'down'} by {about(degrees, 0.0, 'degree')}"


def _opposite(readings: Readings, pair: Pair, limits: Limits) -> Iterator[Finding]:
    """In one picture: the first look against the second turned round."""
    (one_way, one_error), (other_way, other_error) = (mean_look(pair.one, pair.frames[0]), mean_look(pair.other, pair.frames[1]))
    gap, error = miss(one_way, -other_way), float(np.hypot(one_error, other_error))
    if not beyond(gap.total, limits["off_deg"], error):
        return
    # Two looks that rise together miss in height; else they pass each other at a side.
    high = abs(gap.up) > abs(gap.right)
    one, other = pair.one.who, pair.other.who
    much = about(gap.total, error, "degree")
    ways = turns(seen_miss(readings, pair.one, gap, error))
    how = f"pass each other {'at different heights' if high else 'at a side'}"
    yield _finding(readings, pair, Told(
        "heights" if high else "do_not_meet", gap.total, "degrees that the two looks miss each other", limits["off_deg"], error,
        f"{one}'s and {other}'s looks {how}{f', by {much}' if much else ''}",
        f"Turn {one}'s eyes {ways}, or {other}'s the other way; the picture doesn't tell whose are off", HEIGHTS_BASIS, parts_of(gap),
        rests_on=() if readings.cameras else (USUAL_LENS,),
    ))  # fmt: skip


def _finding(readings: Readings, pair: Pair, told: Told) -> Finding:
    """A finding about both, drawn on a frame of both."""
    found = [finding_of(readings, look, frames, told) for look, frames in zip((pair.one, pair.other), pair.frames, strict=True)]
    span = Span(min(f.span.start for f in found), max(f.span.stop for f in found))
    evidence = {name: tuple(thing for f in found for thing in getattr(f, name)) for name in ("strokes", "causes")}
    # Two looks that pass each other have no ring each: either of them may be right.
    strokes = tuple(stroke for stroke in evidence["strokes"] if stroke.kind == "is")
    return replace(found[0], who=pair_of(pair.one.who, pair.other.who), span=span, strokes=strokes, causes=evidence["causes"])
