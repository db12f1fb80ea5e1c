"""Means over the cells of the grid: what every moving picture is brought down to, so it is done without a spare copy."""

from __future__ import annotations

import cv2
import numpy as np

from shotcrit.readings.picture.stillness.grid import COLUMNS, LINES, Floats


def cell_means(values: Floats) -> Floats:
    """Mean of each cell, float32 [shape=(9, 16)], of an array [shape=(height, width)]; a px that lies in two cells counts by its parts."""
    height, width = values.shape
    if height % LINES or width % COLUMNS:
        return np.asarray(cv2.resize(values, (COLUMNS, LINES), interpolation=cv2.INTER_AREA), np.float32)
    down, across = height // LINES, width // COLUMNS
    rows = values.reshape(LINES, down, width).sum(axis=1, dtype=np.float32)
    return np.asarray(rows.reshape(LINES, COLUMNS, across).sum(axis=2) / np.float32(down * across), np.float32)


def product_means(pairs: tuple[tuple[Floats, Floats], ...]) -> Floats:
    """Cell means of the product of each pair of arrays of one shape: float32 [shape=(pairs, 9, 16)]."""
    height, width = pairs[0][0].shape
    if height % LINES or width % COLUMNS:
        return np.stack([cell_means(a * b) for a, b in pairs])
    down, across = height // LINES, width // COLUMNS
    rows = np.empty((len(pairs), LINES, width), np.float32)
    for k, (a, b) in enumerate(pairs):
        # Summed as it is multiplied: the product itself is never kept.
        np.einsum("irx,irx->ix", a.reshape(LINES, down, width), b.reshape(LINES, down, width), out=rows[k])
    return np.asarray(rows.reshape(len(pairs), LINES, COLUMNS, across).sum(axis=3) / np.float32(down * across), np.float32)
