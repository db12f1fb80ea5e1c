"""Means, medians and closings along a line of values, by OpenCV.

scipy.ndimage has the same, and takes as long to load as a shot's sound takes to read; a test holds both to the same numbers.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.floating]
Bools = npt.NDArray[np.bool_]


def running_mean(values: Floats, size: int, *, axis: int = -1) -> Floats:
    """The mean of `size` neighbours along `axis` of an array [shape=(n,)] or [shape=(n, m)]; the ends go on as they are."""
    if not values.size:
        return values.copy()
    lines = np.atleast_2d(values)
    kernel = (size, 1) if axis in (-1, lines.ndim - 1) else (1, size)
    return np.asarray(cv2.blur(lines, kernel, borderType=cv2.BORDER_REPLICATE)).reshape(values.shape)


def median_of_3(values: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """The median of each value and its two neighbours, [shape=(n,)]; the ends stand beside themselves."""
    if not len(values):
        return values.copy()
    beside = np.pad(values, 1, mode="edge")
    return np.asarray(np.median([beside[:-2], values, beside[2:]], axis=0), np.float32)


def closed(flags: Bools, size: int) -> Bools:
    """Gaps under `size` bridged; what lies beyond the ends counts as off."""
    return _shrunk(_grown(flags, size), size)


def opened(flags: Bools, size: int) -> Bools:
    """Stretches under `size` left out."""
    return _grown(_shrunk(flags, size), size)


def grown(flags: Bools, by: int) -> Bools:
    """Each stretch longer by so many to both sides."""
    return _grown(flags, 2 * by + 1)


def _grown(flags: Bools, size: int) -> Bools:
    return _line(cv2.dilate, flags, size, size - 1 - size // 2)


def _shrunk(flags: Bools, size: int) -> Bools:
    return _line(cv2.erode, flags, size, size // 2)


def _line(step: object, flags: Bools, size: int, anchor: int) -> Bools:
    if not len(flags):
        return flags.copy()
    kernel = np.ones((1, size), np.uint8)
    done = step(flags.astype(np.uint8)[None], kernel, anchor=(anchor, 0), borderType=cv2.BORDER_CONSTANT, borderValue=0)  # type: ignore[operator]
    return np.asarray(done[0], np.bool_)
