"""Patches of the full-size picture laid where they would be if the head had not moved."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.head.key import COARSE, finer
from shotcrit.readings.picture.head.steady import Steady

Floats = npt.NDArray[np.float64]
Luma = npt.NDArray[np.uint8]

BLUR_REACH = 4.0
"""Standard deviations that OpenCV's Gaussian of 8 bits reaches, one more than it cuts off at."""


@dataclass(frozen=True)
class Window:
    """A window on the reference frame: patch px u is at reference px corner + u * step (working size).

    size : (width, height) patch px; depth : px behind the face's plane
    """

    corner: Floats
    step: float
    size: tuple[int, int]
    depth: float

    def grid(self, every: int = 1) -> Floats:
        """Reference px of every `every`-th patch px and of one beyond the last, [shape=(height, width, 2)]."""
        x, y = np.meshgrid(*(np.arange(0, side + every - 1, every) for side in self.size))
        return np.stack([x, y], axis=-1) * self.step + self.corner

    def to_reference(self, spots: Floats) -> Floats:
        return spots * self.step + self.corner

    def from_reference(self, spots: Floats) -> Floats:
        return (spots - self.corner) / self.step


def window_around(middle: Floats, across: float, size: tuple[int, int], depth: float) -> Window:
    """A window of patch `size` about reference px `middle`, `across` reference px wide."""
    step = across / size[0]
    return Window(np.asarray(middle, float) - step * (np.array(size) - 1) / 2, step, size, depth)


def steadied(luma: Luma, steady: Steady, index: int, window: Window, scale: float) -> npt.NDArray[np.float32] | None:
    """The window on frame `index`, float32 [shape=(height, width)] grey; None where the head was out of sight.

    luma : the frame, uint8, `scale` times the working size
    """
    if index not in steady.moves:
        return None
    coarse = steady.carry(index, window.grid(COARSE), window.depth).astype(np.float32)
    where = (finer(coarse, window.size[::-1]) + np.float32(0.5)) * np.float32(scale) - np.float32(0.5)
    # A window finer than the picture needs no smoothing; a coarser one is smoothed, or it would shimmer.
    spread = 0.4 * window.step * scale if window.step * scale > 1.5 else 0.0
    part = _around(where, luma.shape, 1 + int(np.ceil(BLUR_REACH * spread)))
    left, top, right, bottom = part
    source = luma[top:bottom, left:right]
    source = cv2.GaussianBlur(source, (0, 0), spread) if spread else source
    x, y = where[..., 0] - np.float32(left), where[..., 1] - np.float32(top)
    return np.asarray(cv2.remap(source, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.float32)


def _around(where: npt.NDArray[np.float32], shape: tuple[int, ...], spare: int) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the part of a picture [shape=(height, width)] that px `where` ask for, `spare` px wider, within it."""
    low, high = np.floor(where.min((0, 1))).astype(int) - spare, np.ceil(where.max((0, 1))).astype(int) + spare + 1
    left, top = np.clip(low, 0, (max(0, shape[1] - 1 - spare), max(0, shape[0] - 1 - spare)))
    right, bottom = np.minimum(np.maximum(high, (left + 1 + spare, top + 1 + spare)), (shape[1], shape[0]))
    return int(left), int(top), int(right), int(bottom)


def on_patch(steady: Steady, index: int, window: Window, spots: Floats) -> Floats:
    """Patch px [shape=(..., 2)] of working px `spots` of frame `index`."""
    middle = window.to_reference((np.array(window.size) - 1) / 2)
    matrix = steady.affine(index, middle, window.depth)
    return np.asarray(window.from_reference((spots - matrix[:, 2]) @ np.linalg.inv(matrix[:, :2]).T))
