"""Level squares around faces, cut out of a picture, and the way back from them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.faces.nets import READ, RGB, Box
from shotcrit.readings.picture.faces.points import LEVEL

Floats = npt.NDArray[np.float32]
ROOM = 1.5
"""Side of the square over the face's own size; 2.1 doubles the error (measured)."""
FACE_OVER_BOX = 1.0
SOFTER = 1.5
"""A square shrunk by more than this is taken from a smaller picture (guess: a linear look-up misses pixels beyond it)."""


@dataclass(frozen=True)
class Square:
    """x, y : middle; side; turn : radians by which it leans to screen right; all in parts of the picture's width, y too"""

    x: float
    y: float
    side: float
    turn: float = 0.0

    def moved(self, right: float, down: float, larger: float, turn: float) -> Square:
        """Shifted by parts of its side, larger by a factor, turned by radians."""
        return Square(self.x + right * self.side, self.y + down * self.side, self.side * larger, self.turn + turn)

    def to_picture(self, points: Floats, size: int) -> Floats:
        """Points of a cut square of `size` px, [shape=(n, 2 or 3)], as parts of the picture's width."""
        scale = self.side / size
        flat = (points[:, :2] - (size - 1) / 2) * scale
        cos, sin = np.cos(self.turn), np.sin(self.turn)
        out = points * scale
        out[:, 0] = self.x + cos * flat[:, 0] - sin * flat[:, 1]
        out[:, 1] = self.y + sin * flat[:, 0] + cos * flat[:, 1]
        return np.asarray(out, np.float32)

    def shares(self, other: Square) -> float:
        """How near the other is: 1 the same middle, 0 half a side away."""
        apart = float(np.hypot(self.x - other.x, self.y - other.y))
        return max(0.0, 1 - 2 * apart / max(self.side, other.side, 1e-9))


def cut(picture: RGB, square: Square, size: int = READ) -> RGB:
    """The square as [shape=(size, size, 3)]; black beyond the picture's edges. picture : the whole of it at some width"""
    width = picture.shape[1]
    scale = square.side * width / size
    cos, sin = np.cos(square.turn) * scale, np.sin(square.turn) * scale
    half = (size - 1) / 2
    x, y = square.x * width - 0.5, square.y * width - 0.5
    back = np.array([[cos, -sin, x - cos * half + sin * half], [sin, cos, y - sin * half - cos * half]])
    return np.asarray(cv2.warpAffine(picture, back, (size, size), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP), np.uint8)


def of_box(box: Box, scale: float, left: float, top: float) -> Square:
    """The square of a found box. scale : picture widths a px of the square that was searched; left, top : its corner, picture widths"""
    right, other = box.eyes[0], box.eyes[1]
    turn = float(np.arctan2(other[1] - right[1], other[0] - right[0]))
    return Square(left + box.x * scale, top + box.y * scale, ROOM * box.size * scale, turn if abs(turn) < 1.2 else 0.0)


def of_points(points: Floats) -> Square:
    """The square for the next picture, from all points of this one, parts of the picture's width, [shape=(468, 3)]."""
    eyes = points[LEVEL[1], :2] - points[LEVEL[0], :2]
    turn = float(np.arctan2(eyes[1], eyes[0]))
    cos, sin = np.cos(turn), np.sin(turn)
    own = points[:, :2] @ np.array([[cos, -sin], [sin, cos]], np.float32)
    low, high = own.min(axis=0), own.max(axis=0)
    middle = (low + high) / 2
    x, y = float(middle[0] * cos - middle[1] * sin), float(middle[0] * sin + middle[1] * cos)
    return Square(x, y, ROOM * float((high - low).max()), turn)
