"""Measuring elsewhere: a plain function at the top of a module, so that another process can find it."""

from __future__ import annotations

from collections.abc import Mapping

from shotcrit.checks.measured import Measured
from shotcrit.crit.records import Take
from shotcrit.elsewhere.far import Watch
from shotcrit.room.worker import Worker


def measure_take(worker: Worker, take: Take, limits: Mapping[str, float], watch: Watch) -> Measured:
    """Measure a take."""
    return worker.measure(take, limits, watch.around, watch)
