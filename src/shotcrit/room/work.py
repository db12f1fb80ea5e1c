"""What runs elsewhere. Plain functions at the top of a module, so that another process can find them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.crit.review import Review
from shotcrit.crit.things import Take
from shotcrit.elsewhere.far import Watch
from shotcrit.room.building import BEHIND
from shotcrit.room.port import Desk

__all__ = ["BEHIND", "measure_take", "send_take"]


def measure_take(desk: Desk, take: Take, limits: Mapping[str, float], watch: Watch) -> Measured:
    """Measure a take."""
    return desk.measure(take, limits, watch.around, watch)


def send_take(desk: Desk, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, watch: Watch) -> tuple[Path, ...]:
    """Make deliveries."""
    return tuple(desk.send(review, measured, kinds, to, watch))
