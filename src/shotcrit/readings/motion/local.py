"""What is odd about a way on single frames: excursions of one frame, and corners, told apart from what smooth, fast or stopped movement does.

Over each seven frames a cubic is fitted together with one event at a time: the middle frame lies off (an excursion), the speed changes at once (a corner),
the place changes at once (a jump). What explains the seven frames best is what happened; all fits are linear, with fixed tables.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
HALF = 3
"""Frames each way (guess: an eighth of a second at 24; a cubic follows movement of up to 2.5 Hz over seven frames)."""
FRAMES = 2 * HALF + 1
_T = np.arange(-HALF, HALF + 1.0)
_CUBIC = np.linalg.qr(np.stack([_T**power for power in range(4)], axis=1))[0]
FREE = FRAMES - _CUBIC.shape[1] - 1
"""Values a dimension that a fit with one event leaves over."""


def _apart(event: Array) -> Array:
    """Row [shape=(7,)] of what a cubic cannot explain of an event: over its length it takes from seven values what the event explains besides the cubic."""
    return np.asarray(event - _CUBIC @ (_CUBIC.T @ event))


def _bent(at: float) -> Array:
    return np.maximum(_T - at, 0)


def _moved(at: float) -> Array:
    return np.heaviside(_T - at, 0.0)


_OFF, _BEND = _apart((_T == 0).astype(float)), _apart(_bent(0.0))
_OTHERS = np.stack(
    [_apart(_bent(at)) for at in (-1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5)] + [_apart(_moved(at)) for at in (-1.5, -0.5, 0.5, 1.5)]
)
_EVENTS = np.stack([row / np.linalg.norm(row) for row in (_OFF, _BEND, *_OTHERS)], axis=1)
OFF_ERROR = float(1 / np.linalg.norm(_OFF))
"""Standard error of an excursion's size, in standard errors of one place."""
BENT_ERROR = float(1 / np.linalg.norm(_BEND))
"""The same of a corner's, a frame."""


@dataclass(frozen=True)
class Oddities:
    """What each frame of a way does, unit of the way; nan within HALF frames of its ends.

    off : float64 [shape=(n, d)] how far this one frame lies off the way of its neighbours
    off_rest : float64 [shape=(n,)] root mean square of what the excursion does not explain
    other_rest : float64 [shape=(n,)] the same for the best of all that is no excursion of this frame
    bent : float64 [shape=(n, d)] change of speed at this frame, a frame
    bent_rest : float64 [shape=(n,)] root mean square of what the corner does not explain; smooth_rest : of what nothing but a cubic leaves
    """

    off: Array
    off_rest: Array
    other_rest: Array
    bent: Array
    bent_rest: Array
    smooth_rest: Array


def oddities(at: Array) -> Oddities:
    """at : float64 [shape=(n, d)], every value known"""
    n, d = at.shape
    if n < FRAMES:
        one, many = np.full(n, np.nan), np.full((n, d), np.nan)
        return Oddities(many, one, one, many, one, one)
    windows = np.lib.stride_tricks.sliding_window_view(at - at.mean(axis=0), FRAMES, axis=0)
    smooth = np.square(windows).sum(axis=(1, 2)) - np.square(windows @ _CUBIC).sum(axis=(1, 2))
    told = windows @ _EVENTS
    left = np.maximum(smooth[:, None] - np.square(told).sum(axis=1), 0)
    free = d * FREE
    rest = _padded(np.sqrt(np.column_stack([left[:, :2], left[:, 2:].min(axis=1), np.maximum(smooth, 0)]) / free))
    return Oddities(
        off=_padded(told[:, :, 0] * OFF_ERROR), off_rest=rest[:, 0], other_rest=rest[:, 2], bent=_padded(told[:, :, 1] * BENT_ERROR),
        bent_rest=rest[:, 1], smooth_rest=rest[:, 3],
    )  # fmt: skip


def _padded(values: Array) -> Array:
    edge = np.full((HALF, *values.shape[1:]), np.nan)
    return np.concatenate([edge, values, edge])
