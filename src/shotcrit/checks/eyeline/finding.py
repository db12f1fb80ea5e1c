"""How a judged look becomes a finding: its frames, its sureness, its drawn evidence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.checks.eyeline.draw import look_strokes
from shotcrit.checks.eyeline.plan import look_plans
from shotcrit.checks.finding import Cause, Curve, Finding, Weight
from shotcrit.checks.sure import as_sure
from shotcrit.clock import Span
from shotcrit.geometry.gaze import Miss, azimuth_elevation
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.wanted import JudgedLook

Array = npt.NDArray[np.float64]
Frames = npt.NDArray[np.int64]
Limits = Mapping[str, float]
Part = Literal["height", "side"]
PLACES = 2
"""Decimals of an angle in a curve: a hundredth of a degree."""


@dataclass(frozen=True)
class Told:
    """What is told of a look's resting frames.

    error : one standard error of value; nought where it is exact
    about : 'height' and 'side' of the look, as far as they are what went wrong
    """

    kind: str
    value: float
    unit: str
    limit: float
    error: float
    says: str
    suggest: str
    basis: str
    about: tuple[Part, ...] = ()
    weight: Weight = "polish"
    rests_on: tuple[str, ...] = ()


def finding_of(readings: Readings, look: JudgedLook, frames: Frames, told: Told) -> Finding:
    """A finding over the look's resting frames."""
    shown = shown_frame(frames)
    return Finding(
        check="eyeline", kind=told.kind, who=look.who, span=Span(int(frames[0]), int(frames[-1]) + 1), value=as_sure(told.value, told.error), unit=told.unit,
        limit=round(told.limit, 1), weight=told.weight, confidence=sureness(told.value, told.limit, told.error), says=told.says, suggest=told.suggest,
        basis=told.basis, level=look.actor.level, curves=look_curves(look, frames), strokes=look_strokes(readings, look, shown, told.error),
        plans=look_plans(readings, look, shown), rests_on=told.rests_on, causes=look_causes(look.who, look.span, told.about),
    )  # fmt: skip


def look_causes(who: str, span: Span, parts: Iterable[Part]) -> tuple[Cause, ...]:
    """What went wrong with somebody's look over `span`."""
    return tuple(Cause(f"{part} of the look", who, span) for part in parts)


def parts_of(gap: Miss) -> tuple[Part, ...]:
    """Whether a miss is one of height, of side, or of both alike."""
    up, right = abs(gap.up), abs(gap.right)
    return ("height", "side") if up > 0.5 * right and right > 0.5 * up else ("height",) if up > right else ("side",)


def shown_frame(frames: Frames) -> int:
    """The frame that is drawn."""
    return int(frames[len(frames) // 2])


def sureness(value: float, limit: float, error: float) -> float:
    """0.5 .. 0.95 by how many standard errors the value lies past its limit."""
    return 0.95 if error == 0 else round(float(np.clip(0.5 + 0.15 * (abs(value) - limit) / error, 0.5, 0.95)), 2)


def look_curves(look: JudgedLook, frames: Frames) -> tuple[Curve, ...]:
    """How high and how far to the side the eyes point, frame by frame, against what is wanted; the worse of the two first."""
    span = slice(int(frames[0]), int(frames[-1]) + 1)
    rests = np.isin(np.arange(span.start, span.stop), frames)
    (side, height), (wanted_side, wanted_height) = (azimuth_elevation(v[span]) for v in (look.eyes.direction, look.wanted))
    both = (
        _curve("height of the look", "degrees, + is up", span.start, np.where(rests, height, np.nan), wanted_height),
        _curve("side of the look", "degrees, + is to screen right", span.start, np.where(rests, side, np.nan), wanted_side),
    )
    off = [
        abs(float(np.nanmean(seen - wanted))) for seen, wanted in ((height[rests], wanted_height[rests]), (side[rests], wanted_side[rests]))
    ]
    return both if off[0] >= off[1] else both[::-1]


def _curve(name: str, unit: str, first: int, seen: Array, wanted: Array) -> Curve:
    return Curve(name, unit, first, tuple(round(float(v), PLACES) for v in seen), tuple(round(float(v), PLACES) for v in wanted))
