"""Which frame of the new take each frame of the old one became: the frame map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.takes.seen import Sight

Steps = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float32]
StretchKind = Literal["alike", "held", "slower", "faster", "inserted", "gone"]


@dataclass(frozen=True)
class Stretch:
    """A stretch over which time runs in one way. old, new : frame indices; None where that take has none there.

    kind : 'alike' frame for frame; 'held' the picture stands where it went on before; 'slower', 'faster' retimed; 'inserted' the old take has none of it;
        'gone' the new take has none of it
    speed : old frames a new frame, seconds counted: 1 where nothing was retimed, 0.5 at half the speed; 0 held; nan where a take has none
    """

    kind: StretchKind
    old: Span | None
    new: Span | None
    speed: float


@dataclass(frozen=True)
class FrameMap:
    """How the frames of two takes belong together.

    old_of : int64 [shape=(n_new,)]; the old frame that each new frame shows, never falling; -1 where it is inserted
    new_of : int64 [shape=(n_old,)]; the new frame that shows each old frame, the first of several; -1 where it is gone
    confidence : float32 [shape=(n_new,)]; 0..1 that old_of is right to a frame, any of the equal frames of a hold counting as right
    by_sound : 0..1, part of the new frames whose sound was found again
    same_picture : 0..1, part of the new frames whose picture is one of the old take's, framing and grade apart
    sight : how the old pictures are framed and graded to be held against the new ones; None where takes were lined up by sound alone
    """

    old_of: Steps
    new_of: Steps
    confidence: Floats
    stretches: tuple[Stretch, ...] = ()
    by_sound: float = 0.0
    same_picture: float = 0.0
    sight: Sight | None = field(default=None, compare=False)

    def __call__(self, old: int) -> int | None:
        """The new frame of an old one; None where it is gone. Fits crit.findings.FrameMap."""
        if not 0 <= old < len(self.new_of):
            return None
        new = int(self.new_of[old])
        return None if new < 0 else new

    def back(self, new: int) -> int | None:
        """The old frame of a new one; None where it was inserted."""
        if not 0 <= new < len(self.old_of):
            return None
        old = int(self.old_of[new])
        return None if old < 0 else old

    def span(self, old: Span) -> Span | None:
        """The new frames of a range of old ones, from the first to the last that is there; None where all of it is gone."""
        there = [int(new) for new in self.new_of[old.start : old.stop] if new >= 0]
        if not there:
            return None
        shown = np.flatnonzero((self.old_of >= old.start) & (self.old_of <= old.last))
        return Span(min(there[0], *shown.tolist()[:1]), max(there[-1], *shown.tolist()[-1:]) + 1)

    def sure_of(self, new: Span) -> float:
        """The median confidence over new frames; 0 for frames that the map does not reach."""
        there = self.confidence[new.start : new.stop]
        return float(np.median(there)) if len(there) else 0.0

    def pairs(self) -> list[tuple[int, int | None]]:
        """(old, new or None) of every old frame."""
        return [(old, None if new < 0 else int(new)) for old, new in enumerate(self.new_of)]


def inverse(old_of: Steps, old_frames: int) -> Steps:
    """new_of of old_of: the first new frame that shows each old one; frames that a faster stretch steps over go to the nearest; -1 else."""
    new_of = np.full(old_frames, -1, np.int64)
    shown = np.flatnonzero(old_of >= 0)
    for new in shown[::-1]:
        new_of[old_of[new]] = new
    for left, right in pairwise(shown):
        skipped = range(int(old_of[left]) + 1, int(old_of[right]))
        if 0 < len(skipped) < LEAPT:
            for k, old in enumerate(skipped):
                new_of[old] = left if 2 * k < len(skipped) - 1 else right
    return new_of


LEAPT = 3
"""Old frames stepped over at once from which they count as gone, and not as played faster (guess: nobody plays a shot at four times its speed)."""
LEAST_RETIMED = 6
"""New frames from which a stretch of another speed is called retimed; in fewer it is a frame more or less (guess: a quarter of a second)."""
LONG = 26
"""New frames in a row at the old speed from which nothing is retimed there: at 5 % less there is an odd one every 20."""
RETIMED = 0.025
"""Part by which a speed must differ to be called another (guess: half of the 5 % that is the least asked for; a stretch loses some of it at its ends)."""
HELD = 4
"""New frames of one old frame from which it is held (guess)."""
SHORT_HOLD = 8
"""New frames under which a hold beside a slower stretch is part of it (guess: a third of a second)."""
HARDLY = 0.35
"""Speed below which a stretch stands, whichever of its nearly equal frames was taken (guess)."""


def stretches_of(old_of: Steps, old_frames: int, ratio: Fraction) -> tuple[Stretch, ...]:
    """How time runs from stretch to stretch, in the order of the new take. ratio : old frames a second over new frames a second"""
    found: list[Stretch] = []
    at, before = 0, 0
    while at < len(old_of):
        stop = at + 1
        if old_of[at] < 0:
            while stop < len(old_of) and old_of[stop] < 0:
                stop += 1
            found.append(Stretch("inserted", None, Span(at, stop), float("nan")))
        else:
            while stop < len(old_of) and old_of[stop] >= 0 and old_of[stop] - old_of[stop - 1] <= LEAPT:
                stop += 1
            if old_of[at] - before >= 1:
                found.append(Stretch("gone", Span(before, int(old_of[at])), None, float("nan")))
            found += _speeds(old_of, at, stop, float(ratio))
            before = int(old_of[stop - 1]) + 1
        at = stop
    if before < old_frames:
        found.append(Stretch("gone", Span(before, old_frames), None, float("nan")))
    return tuple(found)


def _speeds(old_of: Steps, first: int, stop: int, ratio: float) -> list[Stretch]:
    """A run without leaps, parted where its speed changes: a polyline through it that no frame lies off by more than its rounding."""
    values = old_of[first:stop].astype(np.float64)
    found: list[Stretch] = []
    at = 0
    for low, high in (*_plain(values, ratio), (len(values), len(values))):
        found += [_stretch(old_of, first + at + a, first + at + b, ratio) for a, b in _straight(values[at:low])]
        if low < high:
            found.append(_stretch(old_of, first + low, first + high, ratio))
        at = high
    return _joined(found, old_of, ratio)


def _plain(values: npt.NDArray[np.float64], ratio: float) -> list[tuple[int, int]]:
    """What can be told by itself: where the picture stands, and between that long runs at the old speed."""
    found, at = [], 0
    for low, high in (*_holds(values, ratio), (len(values), len(values))):
        found += [(at + a, at + b) for a, b in _as_it_was(values[at:low], ratio)]
        if low < high:
            found.append((low, high))
        at = high
    return found


def _as_it_was(values: npt.NDArray[np.float64], ratio: float) -> list[tuple[int, int]]:
    found, at = [], 0
    while at < len(values):
        stop = at + 1
        while stop < len(values) and abs(values[stop] - values[at] - ratio * (stop - at)) < 1:
            stop += 1
        if stop - at >= LONG:
            found.append((at, stop))
            at = stop
        else:
            at += 1
    return found


def _holds(values: npt.NDArray[np.float64], ratio: float) -> list[tuple[int, int]]:
    """Where the picture stands, or goes on so slowly that the nearest of its nearly equal frames was taken now and then."""
    found, at = [], 0
    while at < len(values):
        stop = at + 1
        while stop < len(values) and values[stop] - values[at] <= max(ratio, HARDLY * ratio * (stop - at)):
            stop += 1
        if stop - at > HELD / min(ratio, 1):
            found.append((at, stop))
            at = stop
        else:
            at += 1
    return found


def _straight(values: npt.NDArray[np.float64]) -> list[tuple[int, int]]:
    """Longest stretches, from the left, that one line goes through, each value within ROUNDING of it."""
    parts, low = [], 0
    while low < len(values):
        high, least, most = low + 1, -np.inf, np.inf
        while high < len(values):
            run, rise = high - low, values[high] - values[low]
            own = ((rise - ROUNDING) / run, (rise + ROUNDING) / run)
            if max(least, own[0]) > min(most, own[1]):
                break
            least, most, high = max(least, own[0]), min(most, own[1]), high + 1
        parts.append((low, high))
        low = high
    return parts


ROUNDING = 1.01
"""Old frames by which a frame may lie off its stretch's line: it is the nearest of those there are, at both ends."""


def _stretch(old_of: Steps, low: int, high: int, ratio: float) -> Stretch:
    old, new = Span(int(old_of[low]), int(old_of[high - 1]) + 1), Span(low, high)
    speed = 1.0 if len(new) < 2 else (len(old) - 1) / (len(new) - 1) / ratio
    if len(new) >= HELD and speed < HARDLY:
        return Stretch("held", old, new, round(speed, 3))
    if len(new) < LEAST_RETIMED or abs(speed - 1) * (len(new) - 1) < 2 or abs(speed - 1) < RETIMED:
        return Stretch("alike", old, new, round(speed, 3))
    return Stretch("slower" if speed < 1 else "faster", old, new, round(speed, 3))


def _joined(parts: Sequence[Stretch], old_of: Steps, ratio: float) -> list[Stretch]:
    """Neighbours that both run as they were, as one; and short holds within a stretch that is slower, which is what its rounding makes of it."""
    found: list[Stretch] = []
    for part in parts:
        last = found[-1] if found else None
        if last and last.kind == part.kind == "alike" and last.old and last.new and part.old and part.new:
            found[-1] = Stretch("alike", Span(last.old.start, part.old.stop), Span(last.new.start, part.new.stop), 1.0)
        elif last and _one_retime(last, part) and last.new and part.new:
            found[-1] = _stretch(old_of, last.new.start, part.new.stop, ratio)
        else:
            found.append(part)
    return found


def _one_retime(one: Stretch, other: Stretch) -> bool:
    """Whether two neighbours are of one retimed stretch: both slower, or both faster, but for what is too short to be told by itself."""
    for kind in ("slower", "faster"):
        fits = all(s.kind == kind or _too_short(s, kind) for s in (one, other))
        if fits and not one.kind == other.kind == "alike":
            return True
    return False


def _too_short(stretch: Stretch, beside: str) -> bool:
    length = 0 if stretch.new is None else len(stretch.new)
    return (stretch.kind == "alike" and length < SHORT_HOLD) or (stretch.kind == "held" and beside == "slower" and length < SHORT_HOLD)
