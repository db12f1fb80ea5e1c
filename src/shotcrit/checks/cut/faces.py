"""Where each face points just before and just after a cut, by the best that is known: eyes, else the head, else the side that the face shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.geometry.gaze import angle_deg, azimuth_elevation, mean_direction
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.rests import resting
from shotcrit.readings.looks.space import at_the_lens, eyes_of, in_picture, target_of

Array = npt.NDArray[np.float64]

WINDOW = 12
"""Frames on each side of a cut in which a look counts as carried over it (guess: after a cut the audience takes 200 to 300 ms to find its
place, Smith 2012, figure from memory; twice that)."""
LEAST_FRAMES = 3
"""Resting frames that a look at a cut needs (guess)."""
HEAD_DEG = 15.0
"""How far eyes stray from where the head points, one standard error (guess: heads follow looks beyond about 15 degrees)."""
SIDE_DEG, SIDE_ERROR_DEG = 35.0, 15.0
"""What a face is taken to be turned by when only the side that it shows is known (guess: a three-quarter view)."""
SHOWN = 0.15
"""Place of the nose between the eyes, of their distance, from which on a face shows a side (guess)."""


@dataclass(frozen=True)
class Face:
    """One face at one side of a cut, camera frame.

    azimuth, elevation : degrees, + to screen right and up; elevation is nan where only a side is known
    error_deg : one standard error; by : what told it; frame : where it is drawn; direction, origin : [shape=(3,)]
    exact : whether direction and place are those of a scene
    """

    who: str
    azimuth: float
    elevation: float
    error_deg: float
    by: Literal["eyes", "head", "side of the face"]
    frame: int
    direction: Array
    origin: Array
    exact: bool

    @property
    def off_lens_deg(self) -> float:
        """How far it looks beside the lens: from the way to it where the eyes' place is known, else from the picture's depth."""
        if np.isfinite(self.origin).all():
            return float(angle_deg(self.direction, -self.origin))
        return float(np.hypot(self.azimuth, np.nan_to_num(self.elevation)))

    @property
    def side_deg(self) -> float:
        """How far to the side of the lens it looks, + to screen right: somebody at the picture's edge who looks into the lens looks to no side."""
        lens = float(azimuth_elevation(-self.origin)[0]) if np.isfinite(self.origin).all() else 0.0
        return (self.azimuth - lens + 180) % 360 - 180


def visible(readings: Readings, who: str, window: Span) -> bool:
    """Whether a character or prop is in the picture in the window, and is not whom the shot is seen through."""
    spots = target_of(readings, who)
    if spots is None:
        return False
    part = slice(window.start, window.stop)
    return bool((in_picture(readings, spots[0])[part] & ~_lens(readings, who, spots)[part]).any())


def _lens(readings: Readings, who: str, spots: tuple[Array, Array]) -> npt.NDArray[np.bool_]:
    known = np.full(len(spots[0]), bool(readings.cameras) and bool((spots[1] == 0).all()))
    return known & at_the_lens(spots[0])


def face_at(readings: Readings, who: str, window: Span, *, last: bool) -> Face | None:
    """The face of `who` in the window: of its last rest (`last`, before a cut) or its first (after one); None where nothing tells it."""
    for actor in sorted((a for a in readings.acting if a.who == who), key=lambda a: -a.level):
        face = _by_eyes(readings, actor, window, last) or _by_head(readings, actor, window) or _by_side(readings, actor, window)
        if face is not None:
            return face
    return None


def _by_eyes(readings: Readings, actor: Acting, window: Span, last: bool) -> Face | None:
    eyes = eyes_of(readings, actor)
    if eyes is None:
        return None
    cuts = readings.picture.cuts if readings.picture else ()
    frames = np.flatnonzero(resting(eyes, actor.lids, cuts)[window.start : window.stop]) + window.start
    frames = frames[-LEAST_FRAMES:] if last else frames[:LEAST_FRAMES]
    if len(frames) < LEAST_FRAMES:
        return None
    direction = mean_direction(eyes.direction[frames])
    azimuth, elevation = azimuth_elevation(direction)
    frame = int(frames[-1] if last else frames[0])
    exact = actor.level == 3 and bool(readings.cameras)
    error = float(np.nanmedian(eyes.error_deg[frames]))
    return Face(actor.who, float(azimuth), float(elevation), error, "eyes", frame, direction, eyes.origin[frame], exact)


def _by_head(readings: Readings, actor: Acting, window: Span) -> Face | None:
    if actor.head is None:
        return None
    facing = mean_direction(np.asarray(actor.head.direction[window.start : window.stop], np.float64))
    if not np.isfinite(facing).all():
        return None
    azimuth, elevation = azimuth_elevation(facing)
    return Face(actor.who, float(azimuth), float(elevation), HEAD_DEG, "head", window.start, facing, np.full(3, np.nan), False)


def _by_side(readings: Readings, actor: Acting, window: Span) -> Face | None:
    """A nose beside the middle of the eyes, or beside the one eye that is marked, shows to which side the face is turned."""
    part = slice(window.start, window.stop)
    seen = {name: np.asarray(track.xy, np.float64)[part, 0] for name, track in actor.marks.items()}
    eyes = [seen[name] for name in ("eye_left", "eye_right") if name in seen and np.isfinite(seen[name]).any()]
    if "nose" not in seen or not eyes or not np.isfinite(seen["nose"]).any():
        return None
    middles = [float(np.nanmedian(eye)) for eye in eyes]
    shift = float(np.nanmedian(seen["nose"])) - float(np.mean(middles))
    wide = abs(middles[0] - middles[-1])
    if len(eyes) == 2 and abs(shift) <= SHOWN * wide:
        return None
    azimuth = SIDE_DEG * float(np.sign(shift))
    unknown = np.full(3, np.nan)
    return Face(actor.who, azimuth, float("nan"), SIDE_ERROR_DEG, "side of the face", window.start, unknown, unknown, False)
