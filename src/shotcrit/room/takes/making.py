"""Lining takes up elsewhere: a plain function at the top of a module, so that another process can find it."""

from __future__ import annotations

from shotcrit.crit.records import Take
from shotcrit.elsewhere.far import Watch
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.room.worker import Worker


def line_two_up(worker: Worker, old: Take, new: Take, watch: Watch) -> LinedUp:
    """How the frames of two takes belong together."""
    return worker.line_up(old, new, watch)
