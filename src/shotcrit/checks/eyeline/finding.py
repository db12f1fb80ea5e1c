"""How a judged look becomes a finding: its frames, its sureness, its drawn evidence."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from shotcrit.checks.eyeline.draw import look_strokes
from shotcrit.checks.eyeline.plan import look_plans
from shotcrit.checks.finding import Curve, Finding, Weight
from shotcrit.clock import Span
from shotcrit.geometry.gaze import azimuth_elevation
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.wanted import JudgedLook

Array = npt.NDArray[np.float64]
Frames = npt.NDArray[np.int64]
Limits = Mapping[str, float]
PLACES = 2
"""Decimals of an angle in a curve: a hundredth of a degree."""


def finding_of(
    readings: Readings, look: JudgedLook, frames: Frames, kind: str, value: float, unit: str, limit: float, weight: Weight, error: float,
    says: str, suggest: str, basis: str,
) -> Finding:  # fmt: skip
    """A finding over the look's resting frames. error : one standard error of value; nought where it is exact."""
    shown = int(frames[len(frames) // 2])
    sure = 0.95 if error == 0 else float(np.clip(0.5 + 0.15 * (abs(value) - limit) / error, 0.5, 0.95))
    return Finding(
        check="eyeline", kind=kind, who=look.who, span=Span(int(frames[0]), int(frames[-1]) + 1), value=round(value, 1), unit=unit, limit=round(limit, 1),
        weight=weight, confidence=round(sure, 2), says=says, suggest=suggest, basis=basis, level=look.actor.level,
        curves=look_curves(look, frames), strokes=look_strokes(readings, look, shown), plans=look_plans(readings, look, shown),
    )  # fmt: skip


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
