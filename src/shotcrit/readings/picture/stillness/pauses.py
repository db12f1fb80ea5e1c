"""Frames that hardly change between two that do, and the beat of a conversion that such frames keep, however it wavers.

Read on the plain change of the picture's pixels, with no model of movement: it asks nothing of what is shown, so it checks what the movement says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.readings.picture.stillness.grid import Floats

Flags = npt.NDArray[np.bool_]

PAUSE = 0.35
"""of the smaller of the two neighbours' changes: less is no movement of its own (on 23 strangers' clips doubled frames had 0.27 and less, slow moments
0.45 and more)."""
CHANGES = 0.1
"""8-bit steps, mean of the picture: a neighbour that changes less says nothing (guess: the noise of codecs that skip still blocks)."""
SHORTEST_BEAT = 2.5
"""frames; every second frame is work on twos."""
WAVER, WAVER_FROM = 1.0, 4.0
"""frames off its place that a repeat may stand where the beat is so many frames or longer (files that keep time in milliseconds; converters that round
as they go: 24 to 30 by gaps of 4, 5 and 6)."""
EXACT = 0.6
"""The same for shorter beats: no more than rounding to whole frames does."""
ON_BEAT, THERE = 0.95, 0.8
"""Part of the repeats that must fall on the beat, and of the beats that must have one (guess)."""
CHANCE = 1e-5
"""How likely at most the repeats fall on the beat by chance."""
ROUNDS = 3
"""of fitting the beat's length (guess: it has settled by then)."""


@dataclass(frozen=True)
class Beat:
    """A repeat every `period` frames, the first about frame `first`. flags : bool [shape=(n,)]; the repeats on it"""

    period: float
    first: float
    flags: Flags


def find_pauses(change: Floats, shots: Sequence[Span]) -> Flags:
    """bool [shape=(n,)]: frames that change far less than both neighbours, none of them over a cut. change : [shape=(n,)] see light.scores"""
    found = np.zeros(len(change), np.bool_)
    open_ = find_open(change, shots)
    inner = np.flatnonzero(open_)
    found[inner] = change[inner] < PAUSE * np.minimum(change[inner - 1], change[inner + 1])
    return found


def find_open(change: Floats, shots: Sequence[Span]) -> Flags:
    """bool [shape=(n,)]: frames on which a pause could be seen: both neighbours change, in the same shot."""
    found = np.zeros(len(change), np.bool_)
    for shot in shots:
        inner = np.arange(shot.start + 2, shot.stop - 1)
        found[inner] = np.minimum(change[inner - 1], change[inner + 1]) > CHANGES
    return found


def find_beat(pauses: Flags, open_: Flags, known: Sequence[Fraction], *, wavers: bool = True) -> Beat | None:
    """The beat that nearly all pauses keep: one of the `known` periods, else whichever fits; None where there is none.

    open_ : where one could be seen; wavers : whether it may stand a frame off its place
    """
    at = np.flatnonzero(pauses).astype(np.float64)
    if len(at) < 2:
        return None
    gaps = np.diff(at)
    usual = float(gaps[gaps <= 1.5 * np.median(gaps)].mean())
    fits = [_fitted(at, float(period), free=False) for period in known if period >= SHORTEST_BEAT]
    if usual >= SHORTEST_BEAT:
        fits.append(_fitted(at, usual, free=True))
    return next((beat for period, first in fits if (beat := _kept(at, period, first, open_, wavers)) is not None), None)


def _fitted(at: npt.NDArray[np.float64], period: float, *, free: bool) -> tuple[float, float]:
    """(period, place of the first beat) that lie best under the pauses."""
    first = float(np.angle(np.exp(2j * np.pi * at / period).mean()) / (2 * np.pi) * period)
    for _ in range(ROUNDS if free else 0):
        # From the first pauses on, so that a small error of the length does not lose count.
        counts = np.concatenate([[0.0], np.cumsum(np.round(np.diff(at) / period))])
        period, first = (float(v) for v in np.polyfit(counts, at, 1))
    return period, first


def _kept(at: npt.NDArray[np.float64], period: float, first: float, open_: Flags, wavers: bool) -> Beat | None:
    reach = WAVER + 0.5 if wavers and period >= WAVER_FROM else EXACT
    on_beat = np.abs((at - first + period / 2) % period - period / 2) <= reach
    due = first + period * np.arange(np.ceil(-first / period), np.ceil((len(open_) - first) / period))
    due = due[[bool(open_[max(0, round(d) - 1) : round(d) + 2].any()) for d in due]]
    there = np.array([np.abs(at - d).min() <= reach for d in due])
    chance = min(1.0, 2 * reach / period) ** on_beat.sum()
    if on_beat.mean() < ON_BEAT or chance > CHANCE or not len(there) or there.mean() < THERE:
        return None
    flags = np.zeros(len(open_), np.bool_)
    flags[at[on_beat].astype(int)] = True
    return Beat(period, first, flags)
