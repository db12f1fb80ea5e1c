"""Where eyes are, where they point and where their target is, in the camera's frame, at the best level there is.

Level 3: metres, exact. Level 2: the picture gives directions; depth comes from the size of heads (every head taken to be equally tall, and
HEAD_M for a scale that drops out of all angles). Without a known camera the vertical field of view is taken as ASSUMED_FOV.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shotcrit.geometry.cameras import Lens, lens_from_fov, to_camera
from shotcrit.geometry.eyeball import ASSUMED_FOV
from shotcrit.readings.acting import Acting, Floats
from shotcrit.readings.bundle import Readings

Array = npt.NDArray[np.float64]

EYES_BELOW = {"nose": -0.12, "head_top": 0.5, "chin": -0.5}
"""How far below a mark of the head the eyes lie, head heights: halfway between crown and chin (a rule of drawing, common practice), a little above
the tip of the nose (guess)."""
FACE_ERROR = 0.06
"""How far off the eyes may be where only such a mark tells them, head heights (guess; 0.05 at most on the demo film's two heads)."""
HEAD_M = 0.23
"""Chin to crown, m: scale only, cancels in every angle (adult mean, from memory)."""
DEPTH_SHARE = 0.15
"""Relative error of a depth told by the size of a head (guess: stylised heads differ)."""
NO_DEPTH = 0.4
"""The same for a thing without a head, whose depth nothing tells: taken as far away as the one who looks at it (guess)."""
LENS_REACH_M = 0.25
"""Eyes within this of the lens are those that the shot is seen through (guess: a head's height)."""


@dataclass(frozen=True)
class EyePair:
    """Both eyes of a character as one, camera frame.

    origin : float64 [shape=(n, 3)] between the eyes
    direction : float64 [shape=(n, 3)] mean of both, unit
    each : by side, unit [shape=(n, 3)]
    error_deg : float64 [shape=(n,)] standard error of the mean direction
    """

    level: float
    origin: Array
    direction: Array
    each: dict[str, Array]
    error_deg: Array


def lens_of(readings: Readings, frame: int) -> Lens:
    """The lens of a frame: the scene's, else an assumed one."""
    width, height = readings.movie.width or 1, readings.movie.height or 1
    if readings.cameras:
        m = readings.cameras[frame].matrix
        return Lens(float(m[0, 0]), float(m[1, 1]), float(m[0, 2]), float(m[1, 2]), width, height)
    return lens_from_fov(ASSUMED_FOV, width=width, height=height)


def eyes_of(readings: Readings, actor: Acting) -> EyePair | None:
    """The character's eyes, or None where no gaze is known."""
    if not actor.gaze:
        return None
    each: dict[str, Array] = {side: np.asarray(gaze.direction, np.float64) for side, gaze in actor.gaze.items()}
    errors = np.array([gaze.error_deg for gaze in actor.gaze.values()], np.float64)
    mean = _mean(list(each.values()))
    length = np.linalg.norm(mean, axis=1, keepdims=True)
    known = np.isfinite(errors)
    with np.errstate(invalid="ignore", divide="ignore"):
        error = np.sqrt(np.where(known, errors**2, 0).sum(axis=0)) / np.maximum(known.sum(axis=0), 1)
        direction = mean / length
    origin = _origin(readings, actor)
    return EyePair(actor.level, origin, direction, each, np.where(known.any(axis=0), error, np.nan))


def _mean(both: list[Array]) -> Array:
    """The mean of what is known, row by row; nan where nothing is."""
    stacked = np.array(both)
    known = np.isfinite(stacked)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(known, stacked, 0).sum(axis=0) / known.sum(axis=0))


def _origin(readings: Readings, actor: Acting) -> Array:
    worlds = [gaze.world_origin for gaze in actor.gaze.values() if gaze.world_origin is not None]
    if worlds and readings.cameras:
        return _through_cameras(readings, np.mean(np.array(worlds, np.float64), axis=0))
    seen = _mean([np.asarray(gaze.origin, np.float64) for gaze in actor.gaze.values()])
    return _at_depth(readings, seen, _head_px(readings, actor, len(seen)))


def _through_cameras(readings: Readings, world: Array) -> Array:
    poses = np.array([camera.world_to_camera for camera in readings.cameras], np.float64)
    return to_camera(world, poses)


def _head_px(readings: Readings, actor: Acting, n: int) -> Array:
    """Height of the head, px of the full-size frame [shape=(n,)]; where it is not seen, its middle height in the same shot; else nan."""
    if actor.head is None:
        return np.full(n, np.nan)
    out = np.array(actor.head.height_px, np.float64)
    edges = [0, *(c for c in (readings.picture.cuts if readings.picture else ()) if 0 < c < n), n]
    for start, stop in pairwise(edges):
        part = out[start:stop]
        known = np.isfinite(part)
        if known.any():
            part[~known] = np.median(part[known])
    return out


def _at_depth(readings: Readings, picture: Array, head_px: Array) -> Array:
    """Picture positions [shape=(n, 2)] with heads of head_px [shape=(n,)] to camera points; unit depth where the head's size is unknown."""
    focal, centre = _lenses(readings, len(picture))
    size = np.array([readings.movie.width or 1, readings.movie.height or 1], np.float64)
    slope = (picture * size - centre) / focal
    with np.errstate(divide="ignore"):
        depth = np.where(np.isfinite(head_px), focal[:, 1] * HEAD_M / head_px, 1.0)
    return np.column_stack([slope, np.ones(len(slope))]) * depth[:, None]


def _lenses(readings: Readings, n: int) -> tuple[Array, Array]:
    """Focal lengths and centres of the first n frames, px [shape=(n, 2)] each; see `lens_of`."""
    if not readings.cameras:
        lens = lens_of(readings, 0)
        return np.tile([lens.focal_x, lens.focal_y], (n, 1)), np.tile([lens.centre_x, lens.centre_y], (n, 1))
    matrices = np.array([camera.matrix for camera in readings.cameras[:n]], np.float64)
    return matrices[:, [0, 1], [0, 1]], matrices[:, :2, 2]


def target_of(readings: Readings, name: str) -> tuple[Array, Array] | None:
    """Where a character's eyes or a prop's mark are: camera points [shape=(n, 3)] and their depth's relative error [shape=(n,)].

    name : 'Ben', 'kite' (its first mark) or 'kite.handle'. None where nothing of it is known; nan on frames where it is out of sight.
    """
    who, _, mark = name.partition(".")
    own = sorted((a for a in readings.acting if a.who == who), key=lambda a: -a.level)
    for actor in own:
        spot = _spot(readings, actor, mark)
        if spot is not None and np.isfinite(spot).any():
            n = len(spot)
            if actor.level == 3:
                return spot, np.zeros(n)
            tall = np.isfinite(_head_px(readings, actor, n)).any()
            return spot, np.full(n, DEPTH_SHARE if tall else NO_DEPTH)
    return None


def _spot(readings: Readings, actor: Acting, mark: str) -> Array | None:
    if mark:
        return _marked(readings, actor, [mark])
    if actor.level == 3:
        return _origin(readings, actor) if actor.gaze else _marked(readings, actor, list(EYES_BELOW))
    faces = _faces(readings, actor)
    if not actor.gaze:
        return faces if faces is not None else _marked(readings, actor, [])
    eyes = _origin(readings, actor)
    # Seen from behind a head has no eyes to follow, but it is still what is looked at.
    return eyes if faces is None else np.where(np.isfinite(eyes), eyes, faces)


def _faces(readings: Readings, actor: Acting) -> Array | None:
    """Where the eyes must be by the first known mark of the head: straight above or below it by its share of the head's height."""
    known = [name for name in EYES_BELOW if name in actor.marks]
    if not known:
        return None
    seen = np.full_like(np.asarray(actor.marks[known[0]].xy, np.float64), np.nan)
    tall = _head_px(readings, actor, len(seen)) / (readings.movie.height or 1)
    for name in known:
        moved = np.asarray(actor.marks[name].xy, np.float64) + np.stack(
            [np.zeros_like(tall), np.nan_to_num(EYES_BELOW[name] * tall)], axis=1
        )
        seen = np.where(np.isfinite(seen), seen, moved)
    return _at_depth(readings, seen, _head_px(readings, actor, len(seen)))


def _marked(readings: Readings, actor: Acting, names: list[str]) -> Array | None:
    """The first known of some marks, frame by frame; any mark of the actor where none is named."""
    tracks = [actor.marks[m] for m in names if m in actor.marks] or ([] if len(names) == 1 else list(actor.marks.values()))
    if not tracks:
        return None
    world: Floats | None = tracks[0].world
    if world is not None and readings.cameras:
        return _through_cameras(readings, np.asarray(world, np.float64))
    seen = np.asarray(tracks[0].xy, np.float64)
    for track in tracks[1:]:
        seen = np.where(np.isfinite(seen), seen, np.asarray(track.xy, np.float64))
    return _at_depth(readings, seen, _head_px(readings, actor, len(seen)))


def at_the_lens(points: Array) -> npt.NDArray[np.bool_]:
    """Which camera points [shape=(n, 3)] are where the camera is, metres: eyes that a point-of-view shot is seen through."""
    return np.asarray(np.linalg.norm(points, axis=1) < LENS_REACH_M, bool)


def in_picture(readings: Readings, points: Array) -> npt.NDArray[np.bool_]:
    """Which camera points [shape=(n, 3)] are seen: in front of the lens and inside the frame."""
    focal, centre = _lenses(readings, len(points))
    with np.errstate(invalid="ignore", divide="ignore"):
        spot = focal * points[:, :2] / points[:, 2:] + centre
        inside = (spot >= 0).all(axis=1) & (spot <= [readings.movie.width or 1, readings.movie.height or 1]).all(axis=1)
        return np.asarray(inside & (points[:, 2] > 0) & np.isfinite(points).all(axis=1), bool)
