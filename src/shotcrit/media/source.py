"""What a medium with pictures offers, whichever way it is stored."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Protocol

from shotcrit.clock import FrameClock
from shotcrit.media.shape import Shape


@dataclass(frozen=True)
class Stored:
    """A decoded av frame for picture `index`; damaged: it stands in for one that could not be decoded."""

    index: int
    frame: Any
    damaged: bool = False


class PictureSource(Protocol):
    """Pictures in the order of showing. begins_s: time of the first on the file's own axis, which the file's sound shares."""

    @property
    def clock(self) -> FrameClock: ...
    @property
    def variable_rate(self) -> bool: ...
    @property
    def begins_s(self) -> Fraction: ...
    @property
    def shape(self) -> Shape: ...
    @property
    def codec(self) -> str: ...
    @property
    def timecode(self) -> str | None: ...
    @property
    def ended_early(self) -> str | None: ...
    @property
    def remarks(self) -> tuple[str, ...]: ...

    def frames(self, start: int, stop: int) -> Iterator[Stored]:
        """Pictures start .. stop-1, each exactly once, in order."""
        ...
