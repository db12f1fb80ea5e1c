"""Who it is that seems to freeze, and whether the marks on it say otherwise: they see a drift that is too slow for the cells of a picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.checks.finding import Level
from shotcrit.clock import Span
from shotcrit.geometry.cameras import project, to_camera
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import PictureReadings, Readings
from shotcrit.readings.looks.space import lens_of
from shotcrit.readings.seen import Box

Floats = npt.NDArray[np.float64]

TRAVEL = 1 / 1280
"""of the picture's width that a mark must travel over the stop to have moved (guess: what is less is a standstill to the eye too)."""
SURE = 3.0
"""times its own error that a mark must travel."""
MOST = 0.5
"""Part of the marks in the region that must have moved (guess: a hand alone does not keep a figure alive)."""
LEAST_MARKS = 3
SET_STILL = 0.5
"""px that the set may move over the stop for marks of the picture to be asked: what the camera adds is not known better."""


@dataclass(frozen=True)
class Figure:
    """A character or prop in a region. moves : whether most of its marks there travel over the stop, though its cells seem to stand."""

    who: str
    level: Level
    moves: bool


def figure_in(readings: Readings, picture: PictureReadings, span: Span, box: Box) -> Figure | None:
    """The one with most marks in `box` over the dead frames `span`; None where fewer than LEAST_MARKS are known."""
    stop = Span(max(span.start - 1, 0), span.stop)
    best: tuple[int, Figure] | None = None
    for who in dict.fromkeys(a.who for a in readings.acting):
        actor = readings.actor(who)
        assert actor is not None
        told = _told(readings, picture, actor, stop, box)
        if len(told) >= LEAST_MARKS and (best is None or len(told) > best[0]):
            best = len(told), Figure(who, actor.level, float(np.mean(told)) >= MOST)
    return None if best is None else best[1]


def _told(readings: Readings, picture: PictureReadings, actor: Acting, stop: Span, box: Box) -> list[bool]:
    """For each mark in the box whether it moved."""
    told = []
    for track in actor.marks.values():
        path = _path(readings, picture, track, stop)
        if path is None or not _inside(track.xy[stop.start], box):
            continue
        travel = float(np.linalg.norm(path - path[0], axis=1).max())
        error = float(track.quick_error_px[stop.start : stop.stop].max())
        told.append(travel > max(TRAVEL * float(readings.movie.width or 0), SURE * error))
    return told


def _path(readings: Readings, picture: PictureReadings, track: MarkTrack, stop: Span) -> Floats | None:
    """float [shape=(n, 2)]: the mark over the stop, px, as a camera that stands sees it; None where that is not known on each frame."""
    here = slice(stop.start, stop.stop)
    size = np.array([readings.movie.width or 0, readings.movie.height or 0], np.float64)
    if track.world is not None and len(readings.cameras) >= stop.stop:
        world = np.asarray(track.world[here], np.float64)
        seen = to_camera(world, np.asarray(readings.cameras[stop.start].world_to_camera, np.float64))
        path = project(seen, lens_of(readings, stop.start))
    else:
        path = np.asarray(track.xy[here], np.float64) * size
        if _set_travel(picture, path, stop) > SET_STILL:
            return None
    return path if np.isfinite(path).all() else None


def _set_travel(picture: PictureReadings, path: Floats, stop: Span) -> float:
    """px that the set moves at the mark's place over the stop, as far as it ever gets."""
    if picture.camera is None or len(stop) < 2:
        return 0.0
    camera = np.asarray(picture.camera, np.float64)[stop.start + 1 : stop.stop]
    moved = np.einsum("nij,nj->ni", camera, np.column_stack([path[:-1], np.ones(len(path) - 1)]))
    return float(np.linalg.norm(np.cumsum(moved, axis=0), axis=1).max())


def _inside(place: npt.NDArray[np.float32], box: Box) -> bool:
    return bool(box.left <= place[0] <= box.right and box.top <= place[1] <= box.bottom)
