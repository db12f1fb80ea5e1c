"""Writing deliveries elsewhere: a plain function at the top of a module, so that another process can find it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.crit.review import Review
from shotcrit.elsewhere.far import Watch
from shotcrit.measuring.review import Sent
from shotcrit.room.worker import Worker


def send_take(worker: Worker, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, watch: Watch) -> Sent:
    """Make deliveries."""
    return worker.send(review, measured, kinds, to, watch)
