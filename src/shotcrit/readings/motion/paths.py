"""The way of each mark through one shot, in the frame of reference in which movement is the actor's own: the world, or the picture less the camera's moves.

What changes with every phone or glance (mouth, lids, eyes, chin) goes no way of its own, and is left to the checks of mouths and eyes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.shots import shots_of

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
NO_WAY = ("mouth_", "lip_", "eye_", "iris_", "lid_", "chin")
"""Marks that start so follow speech and looks."""
LEAST_FRAMES = 8
"""A stretch that is shorter says nothing of how a mark moves (guess: a third of a second)."""
SCENE_ERROR = 2e-4
"""m; what single precision and an exporter's rounding leave of a scene's places (guess)."""


UNDERSTATED = 2.0
"""Times its own error that a follower is taken to err by from frame to frame (guess: it cannot know what it took for the mark for one frame)."""


@dataclass(frozen=True)
class Path:
    """One mark over one stretch of a shot on which it is seen on every frame.

    at : float64 [shape=(n, d)] metres in the world (level 3, d = 3), or px of the full-size frame as the shot's first frame shows the set (level 2, d = 2)
    px : float64 [shape=(n, 2)] where the picture shows it, px of the full-size frame; nan without cameras
    error : float64 [shape=(n,)] standard error that differs from frame to frame, unit of `at`
    slow : float64 [shape=(n,)] standard error that goes slowly, unit of `at`
    placed : bool [shape=(n,)] frames on which a person placed it
    shot : the shot that `span` lies in
    """

    who: str
    mark: str
    span: Span
    shot: Span
    level: Literal[2, 3]
    at: Array
    px: Array
    error: Array
    slow: Array
    placed: Bools

    @property
    def unit(self) -> str:
        return "m" if self.level == 3 else "px"

    @cached_property
    def steps(self) -> Array:
        """float64 [shape=(n - 1,)] how far it goes from each frame to the next, unit of `at`."""
        return np.asarray(np.linalg.norm(np.diff(self.at, axis=0), axis=1))

    @cached_property
    def scale(self) -> float:
        """px of the picture a unit of `at`, in the middle of the stretch: 1 at level 2; nan where no camera is known or it hardly moves."""
        if self.level == 2:
            return 1.0
        seen = np.linalg.norm(np.diff(self.px, axis=0), axis=1)
        far = self.steps > SCENE_ERROR
        return float(np.median(seen[far] / self.steps[far])) if far.any() and np.isfinite(seen[far]).all() else float("nan")


def paths_of(readings: Readings) -> tuple[Path, ...]:
    """The ways of all marks of body and props, each character at the best level there is; in the order of shots, then of the cast."""
    return readings.once("paths", lambda: tuple(_paths(readings)))


def _paths(readings: Readings) -> list[Path]:
    actors = [readings.actor(who) for who in dict.fromkeys(actor.who for actor in readings.acting)]
    found: list[Path] = []
    for shot in shots_of(readings):
        still = _steady_maps(readings, shot)
        for actor in actors:
            for track in actor.marks.values() if actor is not None else ():
                if not track.mark.startswith(NO_WAY):
                    found += _stretches(readings, track, shot, still)
    return found


def _stretches(readings: Readings, track: MarkTrack, shot: Span, still: Array | None) -> Iterator[Path]:
    width, height = readings.movie.width or 1, readings.movie.height or 1
    cut = slice(shot.start, shot.stop)
    px = np.asarray(track.xy[cut], np.float64) * (width, height)
    world = None if track.world is None else np.asarray(track.world[cut], np.float64)
    at = world if world is not None else _steadied(px, still)
    seen = np.asarray(np.isfinite(at).all(axis=1))
    if world is None or readings.cameras:
        seen &= _inside(px, width, height)
    if readings.picture is not None:
        seen &= readings.picture.acted[cut]
    error, slow = _errors(track, cut, world is not None)
    placed = np.isin(np.arange(shot.start, shot.stop), track.placed)
    for part in runs(seen):
        if len(part) >= LEAST_FRAMES:
            own = slice(part.start, part.stop)
            where = Span(shot.start + part.start, shot.start + part.stop)
            yield Path(track.who, track.mark, where, shot, 2 if world is None else 3, at[own], px[own], error[own], slow[own], placed[own])


def _errors(track: MarkTrack, cut: slice, exact: bool) -> tuple[Array, Array]:
    """(error by the frame, slow error)."""
    if exact:
        n = len(track.xy[cut])
        return np.full(n, SCENE_ERROR), np.zeros(n)
    whole = np.nan_to_num(np.asarray(track.error_px[cut], np.float64))
    quick = np.nan_to_num(np.asarray(track.quick_error_px[cut], np.float64))
    return UNDERSTATED * quick, np.sqrt(np.maximum(whole**2 - quick**2, 0))


def _inside(px: Array, width: int, height: int) -> Bools:
    return np.asarray((px >= 0).all(axis=1) & (px <= (width, height)).all(axis=1) & np.isfinite(px).all(axis=1))


def _steady_maps(readings: Readings, shot: Span) -> Array | None:
    """Affine maps [shape=(n, 2, 3)] from each frame's px to those of the shot's first frame; None where the camera's moves were not read."""
    camera = readings.picture.camera if readings.picture is not None else None
    if camera is None:
        return None
    moves = np.tile(np.eye(3), (len(shot), 1, 1))
    moves[1:, :2] += np.asarray(camera[shot.start + 1 : shot.stop], np.float64)
    if not np.isfinite(moves).all():
        return None
    for index in range(1, len(moves)):
        moves[index] = moves[index] @ moves[index - 1]
    return np.asarray(np.linalg.inv(moves)[:, :2], np.float64)


def _steadied(px: Array, still: Array | None) -> Array:
    return px if still is None else np.asarray(np.einsum("nij,nj->ni", still[:, :, :2], px) + still[:, :, 2])
