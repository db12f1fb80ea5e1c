"""The frame clock: which frame is on screen at which time, exactly, for steady and variable rates.

time    |--- frame 0 ---|--- frame 1 ---|- frame 2 -|
     start(0)        start(1)        start(2)    stop(2)
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil

from shotcrit.clock.spans import Span, TimeSpan
from shotcrit.errors import ReadingError

LISTED = 8
"""Frames that are told one by one; of more, how many."""


@dataclass(frozen=True)
class FrameClock:
    """Frame i covers start(i) <= t < stop(i); times in seconds from the first picture, so start(0) == 0.

    edges : n_frames + 1 strictly rising times; the last is where the last picture ends
    rate : the nominal rate, frames per second
    """

    edges: tuple[Fraction, ...]
    rate: Fraction

    def __post_init__(self) -> None:
        if len(self.edges) < 2 or self.edges[0] != 0:
            raise ReadingError("a frame clock needs at least one frame and starts at time 0")
        if any(b <= a for a, b in zip(self.edges, self.edges[1:], strict=False)):
            raise ReadingError("a frame clock must rise from frame to frame")

    @classmethod
    def steady(cls, rate: Fraction, frames: int) -> FrameClock:
        """`frames` pictures at one rate."""
        return cls(tuple(Fraction(i) / rate for i in range(frames + 1)), rate)

    @classmethod
    def for_sound(cls, rate: Fraction, duration: Fraction) -> FrameClock:
        """The frames a sound of `duration` seconds needs at `rate`; a part of a frame counts as one."""
        return cls.steady(rate, max(1, ceil(duration * rate)))

    @classmethod
    def from_starts(cls, starts: Sequence[Fraction], rate: Fraction, *, last_duration: Fraction | None = None) -> FrameClock:
        """A clock from each picture's own time; shifted so that the first is 0. The last picture lasts 1/rate if not said."""
        first = starts[0]
        end = starts[-1] - first + (last_duration or 1 / rate)
        return cls((*(s - first for s in starts), end), rate)

    def __len__(self) -> int:
        return len(self.edges) - 1

    @property
    def duration(self) -> Fraction:
        return self.edges[-1]

    @cached_property
    def starts_s(self) -> tuple[float, ...]:
        """Seconds at which each frame starts; kept, since turning many fractions into numbers takes longer than most of what they are used for."""
        return tuple(float(edge) for edge in self.edges[:-1])

    def start(self, index: int) -> Fraction:
        return self.edges[index]

    def stop(self, index: int) -> Fraction:
        return self.edges[index + 1]

    def middle(self, index: int) -> Fraction:
        return (self.edges[index] + self.edges[index + 1]) / 2

    def time(self, span: Span) -> TimeSpan:
        """The time that frames cover. Raises IndexError past the end."""
        return TimeSpan(self.edges[span.start], self.edges[span.stop])

    def frame_at(self, time: Fraction | float) -> int:
        """The frame on screen at `time`; before the first it is 0, after the last the last."""
        return min(max(bisect_right(self.edges, Fraction(time)) - 1, 0), len(self) - 1)

    def frames(self, start: Fraction | float, stop: Fraction | float) -> Span | None:
        """The frames that start <= t < stop touches, or None when it lies wholly outside the pictures.

        An event shorter than a frame still gives the one frame that it falls in.
        """
        begin, end = Fraction(start), Fraction(stop)
        if (end <= 0 and begin < 0) or begin >= self.duration:
            return None
        first = self.frame_at(begin)
        last = self.frame_at(end)
        if last > first and self.edges[last] >= end:
            last -= 1
        return Span(first, last + 1)

    def position(self, time: Fraction | float) -> float:
        """`time` as a fractional frame number: 3.5 is the middle of frame 3. Runs on past both ends at the nominal rate."""
        t = Fraction(time)
        if t < 0:
            return float(t * self.rate)
        if t >= self.duration:
            return len(self) + float((t - self.duration) * self.rate)
        i = self.frame_at(t)
        return i + float((t - self.edges[i]) / (self.edges[i + 1] - self.edges[i]))


@dataclass(frozen=True)
class Numbering:
    """How frames are shown to people: index 0 is `first_frame`, and ranges include both ends."""

    first_frame: int = 1

    def shown(self, index: int) -> int:
        return index + self.first_frame

    def index(self, shown: int) -> int:
        return shown - self.first_frame

    def listed(self, frames: Sequence[int]) -> str:
        """'8, 33 and 108'; of many the first LISTED, and how many more: '8, 33, 58 and 51 more'."""
        shown = [str(self.shown(frame)) for frame in frames]
        told = shown if len(shown) <= LISTED else [*shown[: LISTED - 1], f"{len(shown) - LISTED + 1} more"]
        return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"

    def text(self, span: Span) -> str:
        """'258 to 264', or '258' for one frame."""
        if len(span) == 1:
            return str(self.shown(span.start))
        return f"{self.shown(span.start)} to {self.shown(span.last)}"
