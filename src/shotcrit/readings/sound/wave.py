"""The wave of the sound, frame by frame, for drawing."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.media.info import Sound
from shotcrit.readings.bundle import FloatArray

Indices = npt.NDArray[np.int64]
SLICES = 8
"""Slices of a frame; a row of the sheet is a few dozen pixels high at most (guess)."""


def wave_slices(sound: Sound, clock: FrameClock, *, slices: int = SLICES) -> FloatArray:
    """The least and greatest sample in each slice of each frame.

    Returns float32 [shape=(n_frames, slices, 2)], full scale -1 .. 1; nan where the sound does not reach.
    The mean of the channels; every sample within the pictures' time counts in exactly one slice.
    """
    mono = sound.mono() if sound.samples.size else np.zeros(0, np.float32)
    starts = np.array([float(e) for e in clock.edges])
    parts = np.arange(slices + 1) / slices
    times = starts[:-1, None] + np.diff(starts)[:, None] * parts[None, :]
    at = np.clip(np.round((times - float(sound.offset_s)) * sound.rate).astype(np.int64), 0, len(mono))
    return _extremes(np.nan_to_num(mono), at[:, :-1], at[:, 1:])


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
