"""Marks that a found face proposes, on the few frames worth marking. Drafts: nothing counts them until a person confirms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from shotcrit.readings.cast import MOUTH_MARKS
from shotcrit.readings.faces import FoundFace, Worth
from shotcrit.readings.picture.faces.found import MEETS

FACING = (*MOUTH_MARKS, "chin", "eye_left", "eye_right")
"""Marks proposed where the face looks most to the camera; on the other frames those of the mouth. Noses, brows and irises lie too far off (faces measured
on rendered heads: 7 to 50 px of 720), and lids come with the eyes."""
CHIN_DEG = 12.0
"""Turned further than this a face has its chin somewhere else than the network says (measured on six generated heads: 3 to 6 % of the head off where
it faces us, 7 to 10 % at 30 degrees, 11 to 15 % at 50)."""


@dataclass(frozen=True)
class ProposedMarks:
    """index : of the frame; shape : what it is worth marking for; marks : by name, x and y as parts of the picture's width and height"""

    index: int
    shape: Worth
    marks: Mapping[str, tuple[float, float]]


def proposed_marks(face: FoundFace) -> tuple[ProposedMarks, ...]:
    """In the order of the film."""
    found = []
    for shape, index in face.worth.items():
        at = index - face.span.start
        marks = _known(face, at, _names(face, at) if shape == "facing" else MOUTH_MARKS)
        if face.mouth.opening[at] <= MEETS:
            marks = _met(marks)
        if marks:
            found.append(ProposedMarks(index, shape, marks))
    return tuple(sorted(found, key=lambda one: one.index))


def _names(face: FoundFace, at: int) -> tuple[str, ...]:
    return FACING if abs(float(face.turned[at])) <= CHIN_DEG else tuple(name for name in FACING if name != "chin")


def _met(marks: dict[str, tuple[float, float]]) -> dict[str, tuple[float, float]]:
    """Both lips where they meet: the network leaves a gap between lips that are shut."""
    if "lip_upper" not in marks or "lip_lower" not in marks:
        return marks
    (x, y), (other_x, other_y) = marks["lip_upper"], marks["lip_lower"]
    middle = (x + other_x) / 2, (y + other_y) / 2
    return {**marks, "lip_upper": middle, "lip_lower": middle}


def _known(face: FoundFace, at: int, names: tuple[str, ...]) -> dict[str, tuple[float, float]]:
    spots = {name: face.points[name][at] for name in names if name in face.points}
    return {name: (float(xy[0]), float(xy[1])) for name, xy in spots.items() if np.isfinite(xy).all()}
