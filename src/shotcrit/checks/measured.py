"""The whole outcome of measuring one medium: what every delivery, the store and the room start from."""

from __future__ import annotations

from dataclasses import dataclass

from shotcrit.checks.finding import Finding, NotMeasured
from shotcrit.readings.bundle import Readings


@dataclass(frozen=True)
class Measured:
    readings: Readings
    findings: tuple[Finding, ...]
    not_measured: tuple[NotMeasured, ...]
