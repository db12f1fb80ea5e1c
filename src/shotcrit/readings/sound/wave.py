"""The wave of the sound, frame by frame, for drawing."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.readings.seen import FloatArray

Indices = npt.NDArray[np.int64]
SLICES = 8
"""Slices of a frame; a row of the sheet is a few dozen pixels high at most (guess)."""
_BLOCK = 64
"""Frames whose samples are looked at together."""


class WaveRows:
    """The least and greatest sample in each slice of each frame, from a sound that comes block by block.

    Every sample within the pictures' time counts in exactly one slice.
    """

    def __init__(self, rate: int, offset_s: Fraction, samples: int, clock: FrameClock, *, slices: int = SLICES) -> None:
        """rate, offset_s, samples : of the sound, as in MixedSound"""
        starts = np.array([float(e) for e in clock.edges])
        parts = np.arange(slices + 1) / slices
        times = starts[:-1, None] + np.diff(starts)[:, None] * parts[None, :]
        self._at = np.clip(np.round((times - float(offset_s)) * rate).astype(np.int64), 0, samples)
        self._held: list[FloatArray] = []
        self._begins, self._have, self._row = 0, 0, 0
        self._rows: list[FloatArray] = []

    def add(self, block: FloatArray) -> None:
        """block : float32 [shape=(n,)]"""
        self._held.append(block)
        self._have += len(block)
        ready = int(np.searchsorted(self._at[:, -1], self._have, side="right"))
        if ready - self._row >= _BLOCK or self._row < ready == len(self._at):
            self._emit(ready)
        if self._row == len(self._at) or self._have <= self._at[self._row, 0]:
            self._held, self._begins = [], self._have  # before the first picture and after the last nothing is kept

    def done(self) -> FloatArray:
        """float32 [shape=(n_frames, slices, 2)], full scale -1 .. 1; nan where the sound does not reach."""
        self._emit(len(self._at))
        return np.concatenate(self._rows)

    def _emit(self, stop: int) -> None:
        held = np.concatenate([np.zeros(0, np.float32), *self._held])
        at = np.clip(self._at[self._row : stop] - self._begins, 0, len(held))
        self._rows.append(_extremes(held, at[:, :-1], at[:, 1:]))
        wanted = int(self._at[stop, 0]) if stop < len(self._at) else self._have
        past = min(max(wanted - self._begins, 0), len(held))
        self._held, self._begins, self._row = [held[past:]], self._begins + past, stop


def _extremes(mono: FloatArray, first: Indices, stop: Indices) -> FloatArray:
    out = np.full((*first.shape, 2), np.nan, np.float32)
    held = stop > first
    if not held.any():
        return out
    edges = np.stack([first[held], stop[held]], axis=1).ravel()
    padded = np.append(mono, np.float32(0))  # reduceat wants every edge to be an index
    out[held, 0] = np.minimum.reduceat(padded, edges)[::2]
    out[held, 1] = np.maximum.reduceat(padded, edges)[::2]
    return out
