"""Patches of the full-size picture laid where they would be if the head had not moved."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.steady import Steady

Floats = npt.NDArray[np.float64]
Luma = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class Window:
    """A window on the reference frame: patch px u is at reference px corner + u * step (working size).

    size : (width, height) patch px; depth : px behind the face's plane
    """

    corner: Floats
    step: float
    size: tuple[int, int]
    depth: float

    def grid(self) -> Floats:
        """Reference px of all patch px, [shape=(height, width, 2)]."""
        x, y = np.meshgrid(np.arange(self.size[0]), np.arange(self.size[1]))
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
    where = ((steady.carry(index, window.grid(), window.depth) + 0.5) * scale - 0.5).astype(np.float32)
    # A window finer than the picture needs no smoothing; a coarser one is smoothed, or it would shimmer.
    coarse = window.step * scale
    source = cv2.GaussianBlur(luma, (0, 0), 0.4 * coarse) if coarse > 1.5 else luma
    return np.asarray(cv2.remap(source, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.float32)


def on_patch(steady: Steady, index: int, window: Window, spots: Floats) -> Floats:
    """Patch px [shape=(..., 2)] of working px `spots` of frame `index`."""
    middle = window.to_reference((np.array(window.size) - 1) / 2)
    matrix = steady.affine(index, middle, window.depth)
    return np.asarray(window.from_reference((spots - matrix[:, 2]) @ np.linalg.inv(matrix[:, :2]).T))
