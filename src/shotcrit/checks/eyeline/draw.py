"""A look drawn on the picture: the ray as it is, as it should be, and the irises where they would hit."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.checks.finding import Stroke
from shotcrit.checks.sure import about
from shotcrit.geometry.cameras import project
from shotcrit.geometry.gaze import angle_deg
from shotcrit.readings.acting import Gaze
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import lens_of
from shotcrit.readings.looks.wanted import JudgedLook

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

RAY_LENGTH = 0.3
"""Length of a drawn ray along its own direction, as a share of the picture's width seen at the eyes' depth (drawing only)."""
CIRCLE_POINTS = 32
PLAIN = 2.0
"""How much longer one part of a movement must be than the other to be called by its way alone (guess)."""
LEAST_DEPTH = 0.05
"""Share of the eyes' depth that a drawn ray keeps before the lens (drawing only)."""


def look_strokes(readings: Readings, look: JudgedLook, frame: int, error: float) -> tuple[Stroke, ...]:
    """Rays 'is' and 'should' from between the eyes, and for each eye the iris where it should be with the pixels to move. error : degrees"""
    origin, seen, wanted = look.eyes.origin[frame], look.eyes.direction[frame], look.wanted[frame]
    if not (np.isfinite(origin).all() and np.isfinite(seen).all() and np.isfinite(wanted).all()) or origin[2] <= 0:
        return ()
    off = about(float(angle_deg(seen, wanted)), error, "degree")
    strokes = [
        Stroke(frame, "is", _ray(readings, frame, origin, seen), off),
        Stroke(frame, "should", _ray(readings, frame, origin, wanted)),
    ]
    for gaze in look.actor.gaze.values():
        ghost = _ghost(readings, frame, gaze, seen, wanted)
        if ghost is not None:
            strokes.append(ghost)
    return tuple(strokes)


def _ray(readings: Readings, frame: int, origin: Array, direction: Array) -> tuple[Point, ...]:
    lens = lens_of(readings, frame)
    reach = RAY_LENGTH * origin[2] * lens.width / lens.focal_x
    if direction[2] < 0:
        reach = min(reach, (1 - LEAST_DEPTH) * origin[2] / -direction[2])
    return _share(project(np.stack([origin, origin + reach * direction]), lens), readings)


def _share(pixels: Array, readings: Readings) -> tuple[Point, ...]:
    width, height = readings.movie.width or 1, readings.movie.height or 1
    return tuple((round(float(x) / width, 5), round(float(y) / height, 5)) for x, y in pixels)


def iris_move(readings: Readings, look: JudgedLook, frame: int) -> tuple[float, float] | None:
    """How far the irises have to go on the picture, px of the full-size frame to screen right and up, the mean of both eyes; None where no ring is drawn."""
    turned = look.eyes.direction[frame], look.wanted[frame]
    moves = [m[1] for gaze in look.actor.gaze.values() if (m := _moved(readings, frame, gaze, *turned)) is not None]
    if not moves or not np.isfinite(moves).all():
        return None
    across, down = np.mean(moves, axis=0)
    return float(across), -float(down)


def _moved(readings: Readings, frame: int, gaze: Gaze, seen: Array, wanted: Array) -> tuple[Array, Array, float] | None:
    """(where the iris is, how far it has to move, the eyeball's radius), px of the full-size frame."""
    width, height = readings.movie.width or 1, readings.movie.height or 1
    iris = np.asarray(gaze.iris[frame], np.float64) * (width, height)
    centre = np.asarray(gaze.origin[frame], np.float64) * (width, height)
    across = float(np.linalg.norm(seen[:2]))
    radius = gaze.radius_px
    if radius <= 0 and across > 0.05 and np.isfinite(iris).all():
        radius = float(np.linalg.norm(iris - centre)) / across
    if radius <= 0 or not np.isfinite(iris).all():
        return None
    return iris, radius * (wanted[:2] - seen[:2]), radius


def _ghost(readings: Readings, frame: int, gaze: Gaze, seen: Array, wanted: Array) -> Stroke | None:
    """A circle where the iris would sit: the eyeball's radius times the change of direction."""
    moved = _moved(readings, frame, gaze, seen, wanted)
    if moved is None:
        return None
    iris, move, radius = moved
    angles = np.linspace(0, 2 * np.pi, CIRCLE_POINTS + 1)
    # A stylised iris is about half of the eyeball across; only the place is judged, the size is drawn.
    ring = iris + move + 0.5 * radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return Stroke(frame, "patch", _share(ring, readings), f"{np.linalg.norm(move):.0f} px {_way(move)}".rstrip())


def _way(move: Array) -> str:
    """'down', 'up', 'to screen left' or 'to screen right', where a movement on the picture plainly goes one of these ways."""
    across, down = float(move[0]), float(move[1])
    if max(abs(across), abs(down)) < PLAIN * min(abs(across), abs(down)):
        return ""
    if abs(down) > abs(across):
        return "down" if down > 0 else "up"
    return f"to screen {'right' if across > 0 else 'left'}"
