"""Who looks at what: what the cast says, and, where it says nothing, what the rests between darts propose.

A proposal is never judged; it becomes a look when the reviewer puts it into the cast.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.geometry.gaze import mean_direction, split_by_plane
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Cast, LookAt
from shotcrit.readings.events import Look
from shotcrit.readings.looks.rests import resting
from shotcrit.readings.looks.space import EyePair, at_the_lens, eyes_of, in_picture, target_of
from shotcrit.readings.looks.wanted import JudgedLook, look_at, look_span
from shotcrit.readings.shots import shots_of

SHORTEST = 6
"""Frames of rest that are worth a proposal (guess: a quarter of a second)."""
BRIDGED = 10
"""Frames of blink and dart between two rests on one target that are one look (guess: a blink lasts up to 0.5 s at the most)."""
FREE_DEG = 2.5
"""How well a drawn look meets its target as a rule, one standard deviation (guess: looks are proposed on shots that may be faulty)."""
ROOM_DEG2 = 2400.0
"""Square degrees over which a look at none of the known things is spread (guess: 60 by 40)."""
PRIOR = {"person": 0.35, "camera": 0.1, "prop": 0.25, "nothing": 0.3}
"""How likely each kind of target is before the eyes are looked at, shared by all of the kind (guess)."""
LEAST = 0.5
"""Confidence below which nothing is proposed: more likely wrong than right."""
PLACES = 2


@dataclass(frozen=True)
class Aim:
    """A thing that a rest may point at: its name, its share of the prior, how likely it makes the seen gaze (a density, 1/deg2)."""

    name: str
    prior: float
    density: float


def looks_of(readings: Readings) -> tuple[Look, ...]:
    """The cast's looks on frame indices, and proposed ones on the rests that the cast leaves open, by time and name."""
    given = [look for said in (readings.cast.looks if readings.cast else ()) if (look := _given(readings, said)) is not None]
    return tuple(sorted([*given, *_proposed(readings, given)], key=lambda k: (k.first, k.last, k.who, k.at)))


def _given(readings: Readings, said: LookAt) -> Look | None:
    span = look_span(readings, said)
    at = said.at if isinstance(said.at, str) else "a drawn point"
    return None if span is None else Look(said.who, at, span.start, span.last)


def _proposed(readings: Readings, given: list[Look]) -> Iterator[Look]:
    for who in dict.fromkeys(actor.who for actor in readings.acting):
        actor = max((a for a in readings.acting if a.who == who and a.gaze), key=lambda a: a.level, default=None)
        eyes = eyes_of(readings, actor) if actor is not None else None
        if actor is None or eyes is None or readings.cast is None or readings.cast.character(who) is None:
            continue
        own = [k for k in given if k.who == who]
        for shot in shots_of(readings):
            yield from _in_shot(readings, readings.cast, actor, eyes, shot, own)


def _in_shot(readings: Readings, cast: Cast, actor: Acting, eyes: EyePair, shot: Span, own: list[Look]) -> Iterator[Look]:
    cuts = readings.picture.cuts if readings.picture else ()
    open_ = resting(eyes, actor.lids, cuts) & in_picture(readings, eyes.origin) & ~at_the_lens(eyes.origin)
    for look in own:
        open_[look.first : look.last + 1] = False
    judged = list(_candidates(readings, cast, actor, eyes, shot))
    found: list[Look] = []
    for rest in runs(open_[shot.start : shot.stop]):
        if len(rest) < SHORTEST:
            continue
        span = Span(shot.start + rest.start, shot.start + rest.stop)
        best = likeliest(judged, span)
        if best is not None:
            look = Look(actor.who, best[0], span.start, span.last, proposed=True, confidence=round(best[1], PLACES))
            found = _joined(found, look, own)
    yield from found


def _joined(found: list[Look], look: Look, own: list[Look]) -> list[Look]:
    """The looks with one more; two rests on one target with only a blink between are one look, as sure as the surer."""
    last = found[-1] if found else None
    if last is None or last.at != look.at or look.first - last.last - 1 > BRIDGED:
        return [*found, look]
    if any(k.first <= look.first and k.last >= last.last for k in own):
        return [*found, look]
    return [*found[:-1], replace(last, last=look.last, confidence=max(last.confidence, look.confidence))]


def _candidates(readings: Readings, cast: Cast, actor: Acting, eyes: EyePair, shot: Span) -> Iterator[tuple[float, JudgedLook]]:
    """Everything that the character may look at in this shot, with its share of the prior."""
    people = [p.name for p in cast.characters if p.name != actor.who]
    props = [f"{p.name}.{mark}" for p in cast.props for mark in sorted({*p.marks, *p.scene})]
    shares = {name: PRIOR["person"] / len(people) for name in people}
    shares |= {name: PRIOR["prop"] / len(props) for name in props} | {"camera": PRIOR["camera"]}
    for name, share in shares.items():
        look = look_at(readings, LookAt(who=actor.who, at=name), actor, eyes, shot)
        if isinstance(look, JudgedLook) and (name == "camera" or not _stands_for_lens(readings, name, shot)):
            yield share, look


def _stands_for_lens(readings: Readings, name: str, shot: Span) -> bool:
    """In a point of view the character whose eyes the lens is in is looked at by looking at the camera."""
    spots = target_of(readings, name)
    return spots is not None and bool((spots[1] == 0).all()) and bool(at_the_lens(spots[0][shot.start : shot.stop]).any())


def likeliest(candidates: list[tuple[float, JudgedLook]], span: Span) -> tuple[str, float] | None:
    """The likeliest target over a rest and its probability by Bayes' rule; None where no target is more likely than all else together.

    p(gaze | target) = exp(-(out / s)^2 / 2 - (within / t)^2 / 2) / (2 pi s t), with s and t the error bars out of and within the target's plane;
    a look at nothing known is spread evenly over ROOM_DEG2.
    """
    aims = [aim for share, look in candidates if (aim := _aim(look, span, share)) is not None]
    total = sum(a.prior * a.density for a in aims) + PRIOR["nothing"] / ROOM_DEG2
    best = max(aims, key=lambda a: a.prior * a.density, default=None)
    if best is None or best.prior * best.density / total < LEAST:
        return None
    return best.name, best.prior * best.density / total


def _aim(look: JudgedLook, span: Span, share: float) -> Aim | None:
    frames = np.arange(span.start, span.stop)
    frames = frames[np.isfinite(look.wanted[frames]).all(axis=1) & np.isfinite(look.eyes.direction[frames]).all(axis=1)]
    if len(frames) < SHORTEST // 2:
        return None
    seen, wanted, normal = (mean_direction(v[frames]) for v in (look.eyes.direction, look.wanted, look.normal))
    out, within = split_by_plane(seen, wanted, normal)
    own = float(np.nanmedian(look.eyes.error_deg[frames]))
    bars: npt.NDArray[np.float64] = np.sqrt(
        [
            own**2 + FREE_DEG**2 + np.median(look.across_deg[frames]) ** 2,
            own**2 + FREE_DEG**2 + np.median(look.wanted_error_deg[frames]) ** 2,
        ]
    )
    density = float(np.exp(-((out / bars[0]) ** 2 + (within / bars[1]) ** 2) / 2) / (2 * np.pi * bars[0] * bars[1]))
    return Aim(look.at, share, density)
