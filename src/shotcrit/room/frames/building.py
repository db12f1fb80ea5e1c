"""Building pictures elsewhere. A module by itself, so that the process loads no more than it needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from shotcrit.crit.records import Take
from shotcrit.elsewhere.far import Watch
from shotcrit.progress import Progress


class Builder(Protocol):
    """The one call of a PictureMaker that is needed here; the whole of it would draw in everything that can be measured."""

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        """Build the pictures that are missing, those nearest to `around()` first."""


def build_frames(builder: Builder, take: Take, watch: Watch) -> None:
    """Build the pictures of a take, those around the playhead first."""
    builder.build_frames(take, watch.around, watch)
