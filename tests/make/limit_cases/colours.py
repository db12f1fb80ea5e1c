"""What the check of teeth lets pass: faces whose mouths have given colours, a grey a part, so that how unlike they are is a matter of lightness alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from shotcrit.geometry.colour import lab, unlike
from shotcrit.readings.bundle import Readings
from shotcrit.readings.faces import FoundFace
from tests.make.found_faces import clock, face
from tests.make.limit_cases.case import Case
from tests.make.two_hander import movie_info

FRAMES = 48


def coloured(number: int, who: str, *, inside: float = 40.0, x: float = 0.3) -> FoundFace:
    """A face that speaks with its mouth open, teeth so unlike the dark."""
    one = face(number, np.full(FRAMES, 0.3), x=x, who=who)
    dark = np.full(3, 30.0)
    parts = np.stack([dark, _lighter(dark, inside)])
    return replace(one, colours=np.tile(parts.astype(np.float32), (FRAMES, 1, 1)))


def _lighter(of: np.ndarray, far: float) -> np.ndarray:
    """The lighter grey that is so unlike `of`, found by halving."""
    low, high = 0.0, 255.0 - of[0]
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if float(unlike(lab(of), lab(of + middle))) < far else (low, middle)
    return np.asarray(of + (low + high) / 2)


def shown(*faces: FoundFace) -> Readings:
    return Readings(movie_info(FRAMES), clock(FRAMES / 24), faces=faces)


def dark_inside(far: float) -> Readings:
    return shown(coloured(1, "Ada", inside=far))


def one_clearer(times: float) -> Readings:
    return shown(coloured(1, "Ada", inside=12.0), coloured(2, "Ben", inside=12.0 * times, x=0.7))


CASES = {
    "teeth.inside": Case(dark_inside, "inside", 40.0, 0.0, at=10.0, within=0.1),
    "teeth.beside": Case(one_clearer, "beside", 1.0, 6.0, at=3.0, within=0.05),
}
