"""Which of the network's 468 points are kept, what they are called, and what a mouth and a head are by them. Numbering: Kartynnik et al. 2019."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]

KEPT = (
    78, 308, 13, 14, 82, 87, 312, 317, 61, 291, 0, 17, 152, 10, 33, 133, 362, 263, 159, 145, 386, 374, 1, 234, 454,
)  # fmt: skip
AT = {number: place for place, number in enumerate(KEPT)}
"""Place of a point among the kept ones."""
CORNERS = (AT[78], AT[308])
"""The mouth's, where the lips part: the character's right, left."""
LIP_PAIRS = ((AT[13], AT[14]), (AT[82], AT[87]), (AT[312], AT[317]))
"""Inner edges of upper and lower lip: in the middle, and on both sides of it."""
MOUTH = (*CORNERS, *LIP_PAIRS[0])
"""Both corners and both lips."""
LEVEL = (33, 263)
"""Outer corners of the eyes, screen left and right of a face that looks at the camera; numbers in the network's own order."""
FOREHEAD, CHIN = AT[10], AT[152]
CHEEKS = (AT[234], AT[454])
JUDGED = tuple(AT[n] for n in (78, 308, 13, 14, 152, 33, 133, 362, 263))
"""Points whose spread says how surely the face was read."""
MARKS = {
    "mouth_right": (AT[78],), "mouth_left": (AT[308],), "lip_upper": (AT[13],), "lip_lower": (AT[14],), "chin": (AT[152],),
    "eye_right": (AT[33], AT[133]), "eye_left": (AT[362], AT[263]),
    "lid_upper_right": (AT[159],), "lid_lower_right": (AT[145],), "lid_upper_left": (AT[386],), "lid_lower_left": (AT[374],),
}  # fmt: skip
"""Marks by our names: the mean of these points (faces measured on rendered heads: corners, lips and chin within 2 to 6 % of the face; eyes are drafts)."""


def size_of(points: Floats) -> Floats:
    """From forehead to chin, [shape=(...)]; points : [shape=(..., kept, 3)]"""
    return np.asarray(np.linalg.norm(points[..., FOREHEAD, :] - points[..., CHIN, :], axis=-1), np.float32)


def opening_of(points: Floats) -> Floats:
    """Gap between the lips in the middle, in depth too, so that a turned head keeps it."""
    gaps = [np.linalg.norm(points[..., a, :] - points[..., b, :], axis=-1) for a, b in LIP_PAIRS]
    return np.asarray(np.mean(gaps, axis=0), np.float32)


def width_of(points: Floats) -> Floats:
    """Corner to corner, in depth too."""
    return np.asarray(np.linalg.norm(points[..., CORNERS[0], :] - points[..., CORNERS[1], :], axis=-1), np.float32)


def yaw_of(points: Floats) -> Floats:
    """Degrees that the face is turned to screen right, by the line between its cheeks."""
    across = points[..., CHEEKS[1], :] - points[..., CHEEKS[0], :]
    return np.asarray(np.rad2deg(np.arctan2(across[..., 2], across[..., 0])), np.float32)


def eyes_apart_of(points: Floats) -> Floats:
    """From the outer corner of one eye to that of the other, in depth too: a length of the face that no expression changes."""
    return np.asarray(np.linalg.norm(points[..., AT[LEVEL[0]], :] - points[..., AT[LEVEL[1]], :], axis=-1), np.float32)
