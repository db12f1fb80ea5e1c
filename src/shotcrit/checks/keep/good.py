"""What the parts hand on to the check."""

from __future__ import annotations

from dataclasses import dataclass, field

from shotcrit.checks.finding import Curve, Level, Stroke
from shotcrit.clock import Span


@dataclass(frozen=True)
class Good:
    """Something that is done well. best : how good of its kind, for choosing among its like; the rest as in a Finding"""

    kind: str
    who: str
    span: Span
    value: float
    unit: str
    limit: str
    says: str
    level: Level
    confidence: float
    best: float
    curves: tuple[Curve, ...] = field(default=())
    strokes: tuple[Stroke, ...] = field(default=())
