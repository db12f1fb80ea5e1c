"""What named faces tell of characters: their mouths, and nothing of gaze, lids or brows, which nobody may judge by found faces."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shotcrit.readings.acting import Acting, Mouth
from shotcrit.readings.faces import FoundFace

LEVEL = 1.5
"""Between the lines alone and marks that a person placed."""


def acting_of_faces(faces: Sequence[FoundFace], frames: int) -> tuple[Acting, ...]:
    """One acting for each name, over the whole film. frames : of the film"""
    names = dict.fromkeys(face.who for face in faces if face.who is not None)
    found = [(who, _mouth([face for face in faces if face.who == who], frames)) for who in names]
    return tuple(Acting(who, LEVEL, mouth=mouth) for who, mouth in found if np.isfinite(mouth.opening).any())


def _mouth(faces: Sequence[FoundFace], frames: int) -> Mouth:
    whole = [np.full(frames, np.nan, np.float32) for _ in range(5)]
    for face in faces:
        mouth = face.mouth
        for to, series in zip(whole, (mouth.opening, mouth.width, mouth.opening_error, mouth.width_error, mouth.meets), strict=True):
            to[face.span.start : face.span.stop] = series
    opening, width, opening_error, width_error, meets = whole
    return Mouth(opening, width, opening_error, width_error, meets)
