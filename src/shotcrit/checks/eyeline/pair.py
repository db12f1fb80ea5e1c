"""Two who look at each other: their looks should run along one line, one up by as much as the other down.

That needs no depth: in one picture the two directions are opposite whatever the lens or the camera's tilt. In a scene the heights are taken in the
world, so that they are right for two cameras too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.checks.eyeline.finding import Frames, Limits, finding_of
from shotcrit.checks.eyeline.judge import TARGET_BASIS, steady_frames
from shotcrit.checks.eyeline.words import miss_words, turn_words
from shotcrit.checks.finding import Finding
from shotcrit.geometry.gaze import mean_direction, miss, split_by_plane
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.wanted import JudgedLook

Array = npt.NDArray[np.float64]

HEIGHTS_BASIS = f"geometry: two looks along one line rise and fall by the same angle; {TARGET_BASIS}"
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


def pair_findings(readings: Readings, looks: Sequence[JudgedLook], limits: Limits, missing: set[str]) -> Iterator[Finding]:
    """Findings heights and do_not_meet. missing : who is found off target already, which says the same."""
    for pair in pairs_of(readings, looks, limits):
        if {pair.one.who, pair.other.who} & missing:
            continue
        if pair.one.actor.level == 3 and pair.other.actor.level == 3:
            yield from _heights(readings, pair, limits)
        elif pair.together:
            yield from _opposite(readings, pair, limits)


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
    if abs(gap) <= limits["heights_deg"]:
        return
    yield _finding(readings, pair, pair.one, "heights", gap, "degrees that the two looks are too high (+) or low for each other", limits["heights_deg"], 0.0,
        f"{_height(pair.one.who, one)}, {_height(pair.other.who, other)}: {abs(gap):.1f}° between them",
        f"bring the two looks {'down' if gap > 0 else 'up'} by {abs(gap):.1f}° together", HEIGHTS_BASIS)  # fmt: skip


def _height(who: str, degrees: float) -> str:
    return f"{who} looks {'up' if degrees >= 0 else 'down'} by {abs(degrees):.1f}°"


def _opposite(readings: Readings, pair: Pair, limits: Limits) -> Iterator[Finding]:
    """In one picture: the first look against the second turned round."""
    seen = [mean_direction(look.eyes.direction[frames]) for look, frames in zip((pair.one, pair.other), pair.frames, strict=True)]
    gap = miss(seen[0], -seen[1])
    errors = [float(np.nanmedian(look.eyes.error_deg[f])) for look, f in zip((pair.one, pair.other), pair.frames, strict=True)]
    error = float(np.hypot(errors[0], errors[1]))
    if gap.total - 2 * error <= limits["off_deg"]:
        return
    worse = max((pair.one, pair.other), key=lambda look: _off(look, pair.frames[look is pair.other]))
    partner = pair.other if worse is pair.one else pair.one
    shown = gap if worse is pair.one else miss(seen[1], -seen[0])
    # Two looks that rise together miss in height; else they pass each other at a side.
    kind = "heights" if abs(shown.up) > abs(shown.right) else "do_not_meet"
    yield _finding(readings, pair, worse, kind, shown.total, "degrees that the two looks miss each other", limits["off_deg"], error,
        f"{worse.who} and {partner.who} do not look at each other: against {partner.who}'s look {worse.who}'s is {miss_words(shown, partner.who)}"
        f" (give or take {2 * error:.1f}°; the picture alone cannot tell whose look is wrong)",
        f"turn {worse.who}'s eyes {turn_words(shown)}, or {partner.who}'s the other way", HEIGHTS_BASIS)  # fmt: skip


def _off(look: JudgedLook, frames: Frames) -> float:
    """How far the look is off its own target in error bars: which of the two is more likely wrong."""
    seen, wanted, normal = (mean_direction(v[frames]) for v in (look.eyes.direction, look.wanted, look.normal))
    out, within = split_by_plane(seen, wanted, normal)
    own = float(np.nanmedian(look.eyes.error_deg[frames]))
    bars = np.hypot(own, [np.median(look.across_deg[frames]), np.median(look.wanted_error_deg[frames])])
    return float(np.hypot(out / max(bars[0], 0.1), within / max(bars[1], 0.1)))


def _finding(
    readings: Readings, pair: Pair, look: JudgedLook, kind: str, value: float, unit: str, limit: float, error: float, says: str, suggest: str, basis: str
) -> Finding:  # fmt: skip
    frames = pair.frames[look is pair.other]
    return finding_of(readings, look, frames, kind, value, unit, limit, "polish", error, says, suggest, basis)
