"""Square cut-outs of pictures on one sheet: what is done to patches of many frames is then done once, and to no more of a picture than they need."""

from __future__ import annotations

from collections.abc import Iterable

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Picture = npt.NDArray[np.uint8]
Rows = npt.NDArray[np.intp]

SIDE = 80
"""px; a patch twice as large as at first, turned by any angle, that moves on by 8 px lies within."""
ACROSS = 8
"""Tiles beside each other: as OpenCV counts pixels in 16 bits, there is room for 3,000."""
SMOOTH = 0.8
"""px, Gaussian; takes the edge off codec noise and interpolation error (guess)."""
RIM = 2.0
"""px of a tile that smoothing mixes with its neighbour's."""


def smoothed(luma: Picture) -> Picture:
    """The picture that patches are cut from."""
    return np.asarray(cv2.GaussianBlur(luma, (0, 0), SMOOTH), dtype=np.uint8)


class Tiles:
    """sheet : uint8, all tiles; first : float32 [shape=(n, 2)] px of its frame under a tile's first pixel, even numbers; corner : the same px on the sheet"""

    def __init__(self, count: int) -> None:
        self.corner: Floats = np.zeros((0, 2), np.float32)
        self.first: Floats = np.zeros((0, 2), np.float32)
        self.sheet: Picture = np.zeros((0, ACROSS * SIDE), np.uint8)
        self.make_room(count)

    def make_room(self, count: int) -> None:
        """For `count` tiles; those that are there stay."""
        rows = np.arange(count)
        more = -(-count // ACROSS) * SIDE - len(self.sheet)
        self.corner = (np.stack([rows % ACROSS, rows // ACROSS], axis=1) * SIDE).astype(np.float32)
        self.first = np.concatenate([self.first, np.zeros((count - len(self.first), 2), np.float32)])
        self.sheet = np.concatenate([self.sheet, np.zeros((more, ACROSS * SIDE), np.uint8)]) if more else self.sheet

    def put(self, rows: Iterable[int], pictures: Iterable[Picture], middles: Floats) -> None:
        """Tiles of `pictures` about px `middles` [shape=(n, 2)]; what lies outside a picture is its edge carried on."""
        corners = 2 * np.rint((middles - SIDE // 2) / 2).astype(np.int64)
        for row, picture, (left, top) in zip(rows, pictures, corners.tolist(), strict=True):
            high, wide = picture.shape
            left, top = max(-SIDE // 2, min(left, wide - SIDE // 2)), max(-SIDE // 2, min(top, high - SIDE // 2))
            self.first[row] = left, top
            x, y = row % ACROSS * SIDE, row // ACROSS * SIDE
            self.sheet[y : y + SIDE, x : x + SIDE] = _window(picture, left, top)

    def smooth(self) -> None:
        self.sheet = smoothed(self.sheet)

    def off(self, rows: Rows, spots: Floats) -> Floats:
        """px [shape=(n,)]: how far `spots` lie from their tiles' middles, the larger of both directions."""
        return np.asarray(np.abs(spots - self.first[rows] - SIDE // 2).max(axis=1), np.float32)

    def to_sheet(self, rows: Rows) -> Floats:
        """float32 [shape=(n, 2)]: what to add to px of a frame to get px of the sheet."""
        return self.corner[rows] - self.first[rows]

    def cut(self, rows: Rows, warps: Floats, grid: Floats) -> Floats:
        """float32 [shape=(n, k)]: what lies under each patch in its tile.

        warps : float32 [shape=(n, 2, 3)] from patch coordinates (px, middle = 0) to picture px; grid : float32 [shape=(3, k)] patch px asked for, and ones
        """
        maps = warps.transpose(1, 0, 2).copy()
        maps[:, :, 2] -= self.first[rows].T
        spots = maps.reshape(-1, 3) @ grid
        np.maximum(spots, RIM, out=spots)
        np.minimum(spots, SIDE - 1 - RIM, out=spots)
        spots += self.corner[rows].T.reshape(-1, 1)
        x, y = spots[: len(rows)], spots[len(rows) :]
        return cv2.remap(self.sheet, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(np.float32)


def _window(picture: Picture, left: int, top: int) -> Picture:
    high, wide = picture.shape
    if left >= 0 and top >= 0 and left + SIDE <= wide and top + SIDE <= high:
        return picture[top : top + SIDE, left : left + SIDE]
    rows, columns = (np.clip(np.arange(first, first + SIDE), 0, limit - 1) for first, limit in ((top, high), (left, wide)))
    return picture[rows[:, None], columns]


def tiles_of(picture: Picture, spots: Floats) -> Tiles:
    """Smoothed tiles of one picture about `spots`, float32 [shape=(n, 2)]."""
    tiles = Tiles(len(spots))
    tiles.put(range(len(spots)), [picture] * len(spots), spots)
    tiles.smooth()
    return tiles
