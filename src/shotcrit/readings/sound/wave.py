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
_BLOCK = 256
"""Frames whose samples are mixed at a time."""


def wave_slices(sound: Sound, clock: FrameClock, *, slices: int = SLICES) -> FloatArray:
    """The least and greatest sample in each slice of each frame.

    Returns float32 [shape=(n_frames, slices, 2)], full scale -1 .. 1; nan where the sound does not reach.
    The mean of the channels; every sample within the pictures' time counts in exactly one slice.
    """
    starts = np.array([float(e) for e in clock.edges])
    parts = np.arange(slices + 1) / slices
    times = starts[:-1, None] + np.diff(starts)[:, None] * parts[None, :]
    at = np.clip(np.round((times - float(sound.offset_s)) * sound.rate).astype(np.int64), 0, len(sound.samples))
    rows = [_rows(sound, at[i : i + _BLOCK]) for i in range(0, len(at), _BLOCK)]
    return np.concatenate(rows) if rows else np.zeros((0, slices, 2), np.float32)


def _rows(sound: Sound, at: Indices) -> FloatArray:
    """Some frames' rows; at : the samples at which their slices begin and end [shape=(n, slices + 1)]."""
    begin, end = int(at.min()), int(at.max())
    mono = sound.samples[begin:end].mean(axis=1) if end > begin else np.zeros(0, np.float32)
    return _extremes(np.nan_to_num(np.asarray(mono, np.float32)), at[:, :-1] - begin, at[:, 1:] - begin)


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
