"""What a camera shows, as seen from somebody's eyes in the world; and on which side of the line between two heads it stands."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.checks.cut.faces import Face
from shotcrit.geometry.cameras import pixel_rays
from shotcrit.geometry.gaze import angle_deg
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import lens_of

Array = npt.NDArray[np.float64]

GRID = 9
"""Points across and down the picture that stand for all of it: neighbours are less than 5 degrees apart in a picture 40 degrees wide."""
DEPTHS_M = np.geomspace(0.5, 50.0, 12)
"""Distances from the lens at which something may be seen, m (guess: a close-up's to a landscape's)."""


def camera_place(readings: Readings, frame: int) -> Array:
    """Where the lens is, world."""
    pose = np.asarray(readings.cameras[frame].world_to_camera, np.float64)
    return np.asarray(-pose[:3, :3].T @ pose[:3, 3])


def to_world(readings: Readings, frame: int, points: Array) -> Array:
    """Camera points [shape=(..., 3)] of a frame, world."""
    pose = np.asarray(readings.cameras[frame].world_to_camera, np.float64)
    return np.asarray((points - pose[:3, 3]) @ pose[:3, :3])


def unanswered_deg(readings: Readings, face: Face, frame: int) -> float:
    """The least angle between a look and the way from its eyes to anything that the camera of `frame` can show, degrees.

    Nought for a point of view along the look, and for a picture that the look runs into.
    """
    lens = lens_of(readings, frame)
    x, y = np.meshgrid(np.linspace(0, lens.width, GRID), np.linspace(0, lens.height, GRID))
    rays = pixel_rays(np.stack([x.ravel(), y.ravel()], axis=1), lens)
    seen = to_world(readings, frame, (rays[:, None, :] * DEPTHS_M[None, :, None]).reshape(-1, 3))
    eyes = to_world(readings, face.frame, face.origin)
    look = to_world(readings, face.frame, face.origin + face.direction) - eyes
    return float(angle_deg(seen - eyes, look[None]).min())


def side_of_line(camera: Array, one: Array, other: Array) -> tuple[int, float]:
    """On which side of the line through two heads a camera stands, seen from above (+1, -1), and how many degrees off the line, 0..90.

    The angle is the lesser of those at the two heads, so that a lens in the eyes of one of them is on the line. World: y up; heights play no part.
    """
    flat = np.array([0, 2])
    line, way = (other - one)[flat], [(camera - head)[flat] for head in (one, other)]
    turn = line[0] * way[0][1] - line[1] * way[0][0]
    lengths = [float(np.linalg.norm(line) * np.linalg.norm(w)) for w in way]
    sines = [min(1.0, abs(line[0] * w[1] - line[1] * w[0]) / n) if n > 0 else 0.0 for w, n in zip(way, lengths, strict=True)]
    off = float(np.degrees(np.arcsin(min(sines))))
    return (1 if turn > 0 else -1), off
