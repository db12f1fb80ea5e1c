"""Building pictures in a process of its own. Apart from `work`, so that the process loads no more than it needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from shotcrit.crit.things import Take
from shotcrit.progress import Progress


class Builder(Protocol):
    """The one call of a PictureDesk that is needed here; the whole of it would draw in everything that can be measured."""

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        """Build the pictures that are missing, those nearest to `around()` first."""


def frames_apart(desk: Builder, take: Take, *, progress: Progress, around: Callable[[], int]) -> None:
    """Build the pictures of a take, those around the playhead first."""
    desk.build_frames(take, around, progress)
