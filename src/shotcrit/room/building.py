"""Building pictures elsewhere. Apart from `work`, so that the process loads no more than it needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from shotcrit.crit.things import Take
from shotcrit.elsewhere.bounds import Bounds
from shotcrit.elsewhere.far import Watch
from shotcrit.progress import Progress

BEHIND = Bounds(background=True)
"""Frames keep coming while a movie is being measured."""


class Builder(Protocol):
    """The one call of a PictureDesk that is needed here; the whole of it would draw in everything that can be measured."""

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        """Build the pictures that are missing, those nearest to `around()` first."""


def build_frames(desk: Builder, take: Take, watch: Watch) -> None:
    """Build the pictures of a take, those around the playhead first."""
    desk.build_frames(take, watch.around, watch)
