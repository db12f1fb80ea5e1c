"""What is asked of the desk: one medium and what goes with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from shotcrit.readings.bundle import Medium


@dataclass(frozen=True)
class MeasureRequest:
    """Measure `movie` (a movie, picture sequence or sound) with what is known about it.

    rate : frames per second that the user insists on; None = the medium's own
    limits : the reviewer's own limits by 'check.limit'
    """

    movie: Path
    lines: Path | None = None
    cast: Path | None = None
    scene: Path | None = None
    sound: Path | None = None
    rate: Fraction | None = None
    first_frame: int = 1
    medium: Medium = "cg"
    limits: Mapping[str, float] = field(default_factory=dict)
