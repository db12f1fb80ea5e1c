"""What runs in a process of its own. Plain functions at the top of a module, so that another process can find them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.crit.review import Review
from shotcrit.crit.things import Take
from shotcrit.progress import Progress
from shotcrit.room.port import Desk

Around = Callable[[], int]


def measure_apart(desk: Desk, take: Take, limits: Mapping[str, float], *, progress: Progress, around: Around) -> Measured:
    """Measure a take."""
    return desk.measure(take, limits, around, progress)


def send_apart(
    desk: Desk, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, *, progress: Progress, around: Around
) -> tuple[Path, ...]:
    """Make deliveries."""
    return tuple(desk.send(review, measured, kinds, to, progress))
