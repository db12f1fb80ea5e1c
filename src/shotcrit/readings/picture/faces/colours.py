"""What stands between the lips: the colour of its darkest part and of its brightest one."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.geometry.colour import LUMINANCE
from shotcrit.readings.picture.faces.nets import RGB

Floats = npt.NDArray[np.float32]

PARTS = ("dark", "bright")
"""Order of the colours."""
INNER = (78, 95, 88, 178, 87, 14, 317, 402, 318, 324, 308, 415, 310, 311, 312, 13, 82, 81, 80, 191)
"""The network's numbers of the points along the inner edge of the lips (from memory; looked at on rendered and filmed faces)."""
CORE = 0.8
"""Of that edge: where the inside begins, so that lips are not taken for it where the points are a little off (guess)."""
INSIDE = 40
"""px that it has at least, of a square of 192, to have a dark and a bright part (guess)."""
SHARE = 4
"""A quarter of it is its dark part, and one its bright part (guess)."""
_FINE = 3
"""Binary places of a corner's px."""


def mouth_colours(seen: RGB, points: Floats) -> Floats:
    """R G B 0..255 of PARTS, float32 [shape=(2, 3)], medians; nan where too little is seen. seen : the square; points : all of it, px of the square"""
    edge = points[list(INNER), :2]
    middle = edge.mean(axis=0)
    mask = np.zeros(seen.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round((middle + CORE * (edge - middle)) * 2**_FINE).astype(np.int32)], 1, shift=_FINE)
    inside = seen[mask > 0].astype(np.float32)
    if len(inside) < INSIDE:
        return np.full((len(PARTS), 3), np.nan, np.float32)
    inside = inside[np.argsort(inside @ LUMINANCE)]
    count = len(inside) // SHARE
    return np.stack([np.median(inside[:count], axis=0), np.median(inside[-count:], axis=0)]).astype(np.float32)
