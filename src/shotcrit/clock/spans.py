"""Ranges of frames and of time, half-open inside, both ends included when shown.

index    0 1 2 3 4 5
Span(2, 5)   [ - - )        three frames: 2, 3, 4
shown    with first_frame 1: '3 to 5'
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from shotcrit.errors import InputError


@dataclass(frozen=True, order=True)
class Span:
    """Frame indices start .. stop-1, counted from 0. Never empty, never negative."""

    start: int
    stop: int

    def __post_init__(self) -> None:
        if not 0 <= self.start < self.stop:
            raise InputError(f"frames {self.start} to {self.stop - 1} are no range; a range starts at 0 or later and holds a frame")

    def __len__(self) -> int:
        return self.stop - self.start

    def __iter__(self) -> Iterator[int]:
        return iter(range(self.start, self.stop))

    def __contains__(self, index: object) -> bool:
        return isinstance(index, int) and self.start <= index < self.stop

    @property
    def last(self) -> int:
        """The last index inside."""
        return self.stop - 1

    def overlap(self, other: Span) -> Span | None:
        """The frames that both hold, or None."""
        start, stop = max(self.start, other.start), min(self.stop, other.stop)
        return Span(start, stop) if start < stop else None

    def gap(self, other: Span) -> int:
        """How many frames lie between the two; 0 when they touch or overlap."""
        return max(0, self.start - other.stop, other.start - self.stop)


@dataclass(frozen=True, order=True)
class TimeSpan:
    """Seconds from the first picture, start <= t < stop, exact."""

    start: Fraction
    stop: Fraction

    def __post_init__(self) -> None:
        if self.start >= self.stop:
            raise InputError(f"a stretch of time from {float(self.start):g} s to {float(self.stop):g} s holds nothing")

    @property
    def length(self) -> Fraction:
        return self.stop - self.start


def runs(flags: Iterable[bool]) -> list[Span]:
    """The maximal stretches of true values: runs([0,1,1,0,1]) -> [Span(1, 3), Span(4, 5)]."""
    found: list[Span] = []
    start: int | None = None
    index = -1
    for index, flag in enumerate(flags):
        if flag and start is None:
            start = index
        elif not flag and start is not None:
            found.append(Span(start, index))
            start = None
    if start is not None:
        found.append(Span(start, index + 1))
    return found
