"""From the time stamps of a file to an exact clock: which nominal rate, steady or not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from shotcrit.clock import FrameClock
from shotcrit.clock.rates import FASTEST, snap_rate

DEFAULT_RATE = Fraction(24)
"""Frames per second where nothing says otherwise (the contract in docs: sound and picture sequences)."""

KNOWN_RATES = tuple(sorted(
    [Fraction(n) for n in (6, 8, 10, 12, 15, 24, 25, 30, 48, 50, 60, 120)] + [Fraction(n * 1000, 1001) for n in (24, 30, 48, 60, 120)]
))  # fmt: skip
"""Rates that films are made at; a measured rate within NEAR of one is taken to be it."""
NEAR = Fraction(1, 500)


def clock_from_starts(
    starts: Sequence[Fraction], tick: Fraction, said: Sequence[Fraction], *, last_duration: Fraction | None = None
) -> tuple[FrameClock, bool]:
    """The clock of pictures that start at `starts` (seconds, rising, known to within `tick`), and whether its rate varies.

    said : the rates that the file's header claims, best first. A rate that explains every start to within one tick makes the
    clock steady and exact: 41, 42, 42 ms become 1/24 s. Otherwise each picture keeps its own time.
    """
    candidates = [snap_rate(r) for r in said if 0 < r <= FASTEST] + measured_rates(starts)
    for rate in candidates:
        if _explains(rate, starts, tick):
            return FrameClock.steady(rate, len(starts)), False
    rate = _usual_rate(starts, tick) or (candidates[0] if candidates else DEFAULT_RATE)
    if len(starts) == 1:
        return FrameClock.steady(candidates[0] if candidates else rate, 1), False
    return FrameClock.from_starts(starts, rate, last_duration=last_duration or None), True


def measured_rates(starts: Sequence[Fraction]) -> list[Fraction]:
    """The known rates near the mean rate of the starts, nearest first."""
    if len(starts) < 2:
        return []
    mean = (len(starts) - 1) / (starts[-1] - starts[0])
    near = [r for r in KNOWN_RATES if abs(r - mean) <= r * NEAR * 10]
    return sorted(near, key=lambda r: abs(r - mean))


def _explains(rate: Fraction, starts: Sequence[Fraction], tick: Fraction) -> bool:
    first = starts[0]
    return all(abs(s - first - i / rate) <= tick for i, s in enumerate(starts))


def _usual_rate(starts: Sequence[Fraction], tick: Fraction) -> Fraction | None:
    """The rate behind the commonest step from picture to picture: the known one on whose grid most starts lie, if one fits the step."""
    steps = Counter(b - a for a, b in pairwise(starts))
    if not steps:
        return None
    step = steps.most_common(1)[0][0]
    fitting = [r for r in KNOWN_RATES if abs(1 / r - step) <= tick]
    return max(fitting, key=lambda r: (_on_grid(r, starts, tick), r.denominator == 1), default=min(1 / step, FASTEST))


def _on_grid(rate: Fraction, starts: Sequence[Fraction], tick: Fraction) -> int:
    """How many starts are a whole number of frames from the first, to within a tick."""
    places = [(s - starts[0]) * rate for s in starts]
    return sum(abs(p - round(p)) <= tick * rate for p in places)


def rising(values: Sequence[int]) -> bool:
    """Each value greater than the one before."""
    return all(b > a for a, b in pairwise(values))
