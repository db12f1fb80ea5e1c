"""Whether one picture is another seen from nearer or further off: the jumps of a zoom that moves in steps are no cuts.

A single jump may be a cut into the same picture, as editors make them; a zoom makes one jump after the other.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from shotcrit.readings.picture.stillness.grid import COLUMNS, LINES, Floats

SIZES = tuple(1.5 ** (k / 7) for k in range(8))
"""Times as large that the nearer picture may be (guess: a step that is felt as a movement, no more than half as large again)."""
AWAY = tuple(np.arange(-2, 2.5, 0.5))
"""cells that its middle may have moved, across and down."""
LEAST_COMMON = 0.6
"""of the picture that both have to show."""
SAME, BETTER = 0.87, 0.5
"""Correlation of the cells from which it is one picture, and part of the difference between the two as they lie that may be left. Made zooms in steps of 1.08
to 1.45 reach 0.87 to 0.96; hard cuts on strangers' clips stay under 0.81, but for a split screen half of which stands still (0.92, with 0.6 left)."""
IN_A_ROW, APART = 3, 24
"""jumps that make a zoom in steps, and frames from one to the next at the most (guess)."""


def steps_of_a_zoom(jumps: Sequence[int]) -> frozenset[int]:
    """Of frames on which the picture jumps nearer or further off, those that stand in a row."""
    rows: list[list[int]] = []
    for jump in sorted(jumps):
        if rows and jump - rows[-1][-1] <= APART:
            rows[-1].append(jump)
        else:
            rows.append([jump])
    return frozenset(jump for row in rows if len(row) >= IN_A_ROW for jump in row)


def is_nearer(before: Floats, after: Floats) -> bool:
    """Whether a picture is the one before, larger or smaller and a little aside. Both : float32 [shape=(3, 9, 16)], about as light as they look"""
    one, other = (np.ascontiguousarray(np.moveaxis(picture, 0, -1)) for picture in (before, after))
    return _holds(one, other) or _holds(other, one)


def _holds(wide: Floats, near: Floats) -> bool:
    """Whether the wide picture holds the near one. Both : float32 [shape=(9, 16, 3)]"""
    best = max(_alike(_moved(wide, size, x, y), near) for size in SIZES for x in AWAY for y in AWAY)
    return best > SAME and 1 - best < BETTER * (1 - _alike(wide, near))


def _moved(picture: Floats, size: float, x: float, y: float) -> Floats:
    """The picture made `size` times as large about its middle and moved by x, y cells; -1 where it shows nothing."""
    middle = ((COLUMNS - 1) / 2, (LINES - 1) / 2)
    how = np.array([[size, 0, (1 - size) * middle[0] + x], [0, size, (1 - size) * middle[1] + y]], np.float32)
    return np.asarray(cv2.warpAffine(picture, how, (COLUMNS, LINES), borderMode=cv2.BORDER_CONSTANT, borderValue=(-1, -1, -1)), np.float32)


def _alike(one: Floats, other: Floats) -> float:
    """Correlation over the cells that both show, each colour about its own mean; 0 where these are too few, or all alike."""
    both = one.min(axis=-1) >= 0
    if both.mean() < LEAST_COMMON:
        return 0.0
    a, b = one[both], other[both]
    a, b = a - a.mean(axis=0), b - b.mean(axis=0)
    length = float(np.linalg.norm(a) * np.linalg.norm(b))
    return float((a * b).sum() / length) if length > 1e-6 else 0.0
