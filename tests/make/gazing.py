"""Eyes of a given width that look about, by two unlike renderers, read from marks that a person placed with a person's error."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.geometry.eyeball import angle_between
from shotcrit.readings.picture.acting import acting_from_marks
from tests.make.heads import EYE, Card, paint
from tests.make.heads3d import EYE_AT, EYE_RADIUS, Heads, Pose, render
from tests.make.played import Played, placed_cast

FRAMES = 16
FOV = 35.0
"""Vertical, degrees: what the reading assumes where no lens is known."""
REACH = (24.0, 12.0)
"""Degrees that eyes look to the side, and up or down, at most."""


def gazing(kind: str, eye_px: float, seed: int) -> Heads:
    """Sixteen frames; the first looks straight ahead. kind : drawn or solid; eye_px : width of an eyeball"""
    random = np.random.default_rng(seed)
    looks = random.uniform(-1, 1, (FRAMES, 2)) * REACH
    looks[0] = 0
    t = np.arange(FRAMES) / 24
    turn = np.column_stack([random.uniform(3, 10) * np.sin(4 * t), random.uniform(2, 5) * np.sin(5 * t), 2 * np.sin(3 * t)])
    side = round(3.9 * eye_px)
    if kind == "drawn":
        tall = eye_px / (2 * EYE)
        middle = side / 2, 0.42 * side
        return paint([Card(tall, middle, turn[i, 2], gaze=tuple(looks[i])) for i in range(FRAMES)], (side, side), seed=seed)
    focal = side / 2 / np.tan(np.radians(FOV) / 2)
    far = focal * 2 * EYE_RADIUS / eye_px - EYE_AT["left"][2]
    return render([Pose(tuple(turn[i]), (0, 0.05, far), tuple(looks[i])) for i in range(FRAMES)], (side, side), fov=FOV, seed=seed)


def misses(film: Heads, slip: float, seed: int) -> Iterator[tuple[float, float]]:
    """(degrees off, stated standard error) of each known gaze. slip : standard deviation of each placed mark, px"""
    (ada,) = acting_from_marks(Played(film.frames), placed_cast(film, 0, (), slip=slip, seed=seed), ())
    for name, gaze in ada.gaze.items():
        off = angle_between(gaze.direction, film.gaze[name])
        known = np.isfinite(off)
        yield from zip(off[known].tolist(), gaze.error_deg[known].tolist(), strict=True)
