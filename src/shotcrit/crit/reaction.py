"""The reviewer's reaction time, and where a first-look marker belongs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from shotcrit.clock import FrameClock
from shotcrit.errors import InputError

FASTEST_MS = 100.0
"""Presses earlier than this were guesses, not reactions (World Athletics rules put a false start at 100 ms; from memory)."""
SLOWEST_MS = 1000.0
"""Presses later than this were asleep (guess)."""
FEWEST = 5
"""Tries needed for a median that one slip does not move (guess)."""


@dataclass(frozen=True)
class Reaction:
    """median_ms of the tries that count; spread_ms: median absolute deviation; used and left_out: how many tries."""

    median_ms: float
    spread_ms: float
    used: int
    left_out: int


def reaction_time(samples_ms: Sequence[float]) -> Reaction:
    """The median of tries in milliseconds, without guesses and slips. Raises InputError when fewer than FEWEST are left."""
    good = [s for s in samples_ms if FASTEST_MS <= s <= SLOWEST_MS]
    if len(good) < FEWEST:
        raise InputError(
            f"only {len(good)} of these tries can be a reaction; press the key when the picture flashes, {FEWEST} times or more"
        )
    middle = float(median(good))
    return Reaction(middle, float(median(abs(s - middle) for s in good)), len(good), len(samples_ms) - len(good))


def drawn_back(pressed: int, clock: FrameClock, reaction_ms: float) -> int:
    """The frame that was on screen `reaction_ms` before the middle of frame `pressed`; never before the first."""
    return clock.frame_at(max(0.0, float(clock.middle(pressed)) - reaction_ms / 1000))
