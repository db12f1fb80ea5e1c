"""Where eyes are, where they point and where their target is, in the camera's frame, at the best level there is.

Level 3: metres, exact. Level 2: the picture gives directions; depth comes from the size of heads (every head taken to be equally tall, and
HEAD_M for a scale that drops out of all angles). Without a known camera the vertical field of view is taken as ASSUMED_FOV_DEG.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shotcrit.geometry.cameras import Lens, lens_from_fov, pixel_rays, to_camera
from shotcrit.readings.acting import Acting, Floats
from shotcrit.readings.bundle import Readings

Array = npt.NDArray[np.float64]

HEAD_MARKS = ("nose", "head_top", "chin")
HEAD_M = 0.23
"""Chin to crown, m: scale only, cancels in every angle (adult mean, from memory)."""
ASSUMED_FOV_DEG = 30.0
"""Vertical field of view where no camera is known (guess: a 45 mm lens on a 24 mm high film back)."""
DEPTH_SHARE = 0.15
"""Relative error of a depth told by the size of a head (guess: stylised heads differ)."""
NO_DEPTH = 0.4
"""The same for a thing without a head, whose depth nothing tells: taken as far away as the one who looks at it (guess)."""
NO_CAMERA_DEG = 2.0
"""Error that an unknown field of view adds to an angle at level 2 (guess)."""


@dataclass(frozen=True)
class EyePair:
    """Both eyes of a character as one, camera frame.

    origin : float64 [shape=(n, 3)] between the eyes
    direction : float64 [shape=(n, 3)] mean of both, unit
    each : by side, unit [shape=(n, 3)]
    error_deg : float64 [shape=(n,)] standard error of the mean direction
    """

    level: int
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
    return lens_from_fov(ASSUMED_FOV_DEG, width=width, height=height)


def eyes_of(readings: Readings, actor: Acting) -> EyePair | None:
    """The character's eyes, or None where no gaze is known."""
    if not actor.gaze:
        return None
    each: dict[str, Array] = {side: np.asarray(gaze.direction, np.float64) for side, gaze in actor.gaze.items()}
    errors = np.array([gaze.error_deg for gaze in actor.gaze.values()], np.float64)
    mean = np.nanmean(np.array(list(each.values())), axis=0) if len(each) > 1 else next(iter(each.values()))
    length = np.linalg.norm(mean, axis=1, keepdims=True)
    known = np.isfinite(errors)
    with np.errstate(invalid="ignore", divide="ignore"):
        error = np.sqrt(np.where(known, errors**2, 0).sum(axis=0)) / np.maximum(known.sum(axis=0), 1)
        direction = mean / length
    origin = _origin(readings, actor)
    return EyePair(actor.level, origin, direction, each, np.where(known.any(axis=0), error, np.nan))


def _origin(readings: Readings, actor: Acting) -> Array:
    worlds = [gaze.world_origin for gaze in actor.gaze.values() if gaze.world_origin is not None]
    if worlds and readings.cameras:
        return _through_cameras(readings, np.mean(np.array(worlds, np.float64), axis=0))
    seen = np.nanmean(np.array([gaze.origin for gaze in actor.gaze.values()], np.float64), axis=0)
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
    size = np.array([readings.movie.width or 1, readings.movie.height or 1], np.float64)
    out = np.empty((len(picture), 3))
    for frame in range(len(picture)):
        lens = lens_of(readings, frame)
        ray = pixel_rays(picture[frame] * size, lens)
        depth = lens.focal_y * HEAD_M / head_px[frame] if np.isfinite(head_px[frame]) else 1.0
        out[frame] = ray / ray[2] * depth
    return out


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
    if mark or not actor.gaze:
        return _marked(readings, actor, [mark] if mark else list(HEAD_MARKS))
    eyes = _origin(readings, actor)
    head = None if actor.level == 3 else _marked(readings, actor, list(HEAD_MARKS))
    # Seen from behind a head has no eyes to follow, but it is still what is looked at.
    return eyes if head is None else np.where(np.isfinite(eyes), eyes, head)


def _marked(readings: Readings, actor: Acting, names: list[str]) -> Array | None:
    """The first known of some marks, frame by frame; any mark of the actor where it has none of them."""
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


def in_picture(readings: Readings, points: Array) -> npt.NDArray[np.bool_]:
    """Which camera points [shape=(n, 3)] are seen: in front of the lens and inside the frame."""
    out = np.zeros(len(points), bool)
    for frame, point in enumerate(points):
        if not np.isfinite(point).all() or point[2] <= 0:
            continue
        lens = lens_of(readings, frame)
        x = lens.focal_x * point[0] / point[2] + lens.centre_x
        y = lens.focal_y * point[1] / point[2] + lens.centre_y
        out[frame] = 0 <= x <= lens.width and 0 <= y <= lens.height
    return out
