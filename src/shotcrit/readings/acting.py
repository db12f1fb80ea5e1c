"""What one character or prop does, frame by frame: from a face found in the picture (level 1.5), from marks in it (level 2) or from a scene (level 3).

Frames of reference:
    picture   fractions of the picture's width and height, origin top left, y down
    camera    metres or units, x to screen right, y down, z from the lens into the picture (as in OpenCV)
    world     metres, y up, right-handed
A value is nan on a frame where it could not be measured; nothing is interpolated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Side = Literal["left", "right"]
"""The character's own."""
MARKED = 2
"""Level of acting that came from marks in the picture."""


@dataclass(frozen=True)
class Across:
    """What an outline tells of a mark on plain cloth: its height, and nothing of where it went along the outline.

    y : float32 [shape=(n_frames,)] part of the picture's height, from the top; nan where the outline is not followed
    error_px : float32 [shape=(n_frames,)] standard error of that height, px of the full-size frame, what may have gone along the outline included
    noise_px : float32 [shape=(n_frames,)] the part of it that differs from frame to frame
    """

    y: Floats
    error_px: Floats
    noise_px: Floats


@dataclass(frozen=True)
class Spot:
    """index : of a frame; x, y : parts of the picture's width and height"""

    index: int
    x: float
    y: float


@dataclass(frozen=True)
class MarkTrack:
    """One mark followed through the shot.

    xy : float32 [shape=(n_frames, 2)] picture; nan where lost or out of sight
    error_px : float32 [shape=(n_frames,)] standard error, px of the full-size frame; 0 at level 3
    placed : frame indices that a person placed
    world : float32 [shape=(n_frames, 3)] world, level 3 only
    turn : float32 [shape=(n_frames, 3, 3)] rotation of the node, world, level 3 only
    noise_px : float32 [shape=(n_frames,)] the part of error_px that differs from frame to frame; the rest goes slowly, as the thing turns. None: all of it
    across : its height by its outline, for a mark of the body on plain cloth; level 2 only
    instead : a spot nearby that can be followed, where this one is followed neither way
    """

    who: str
    mark: str
    xy: Floats
    error_px: Floats
    placed: tuple[int, ...] = ()
    world: Floats | None = None
    turn: Floats | None = None
    noise_px: Floats | None = None
    across: Across | None = None
    instead: Spot | None = None

    @property
    def quick_error_px(self) -> Floats:
        """noise_px, or all of error_px where nothing tells them apart."""
        return self.error_px if self.noise_px is None else self.noise_px


@dataclass(frozen=True)
class Mouth:
    """opening, width, rounding, spread : float32 [shape=(n_frames,)].

    opening : gap between the lips / the character's mouth width at rest; 0 = lips meet
    width : corner to corner / mouth width at rest; 1 = at rest
    opening_error, width_error : standard errors, same units
    meets : float32 [shape=(n_frames,)] probability that the lips meet
    teeth_on_lip : float32 [shape=(n_frames,)] probability that lower lip and upper teeth meet; None where nothing tells it
    taught : what the marked frames cover: some of 'shut', 'open', 'wide', 'rest'
    """

    opening: Floats
    width: Floats
    opening_error: Floats
    width_error: Floats
    meets: Floats
    teeth_on_lip: Floats | None = None
    taught: tuple[str, ...] = ()


@dataclass(frozen=True)
class Gaze:
    """Where one eye points.

    origin : float32 [shape=(n_frames, 2)] picture position of the eyeball's centre
    direction : float32 [shape=(n_frames, 3)] unit vectors, camera
    error_deg : float32 [shape=(n_frames,)] one standard error of the direction, degrees
    iris : float32 [shape=(n_frames, 2)] picture position of the iris's centre
    world_origin, world_direction : float32 [shape=(n_frames, 3)] world, level 3 only
    """

    origin: Floats
    direction: Floats
    error_deg: Floats
    iris: Floats
    radius_px: float = 0.0
    world_origin: Floats | None = None
    world_direction: Floats | None = None


@dataclass(frozen=True)
class Head:
    """The head as a rigid thing.

    direction : float32 [shape=(n_frames, 3)] where the face points, camera; nan where unknown
    height_px : float32 [shape=(n_frames,)] of the head in the full-size frame
    steady : float32 [shape=(n_frames, 2, 3)] affine map from the full-size frame's px to the head's px on its reference frame
    """

    direction: Floats
    height_px: Floats
    steady: Floats | None = None


@dataclass(frozen=True)
class Acting:
    """One character (or prop: marks only)."""

    who: str
    level: float
    """1.5 from a face that was found, its mouth alone; 2 from marks; 3 from a scene."""
    marks: Mapping[str, MarkTrack] = field(default_factory=dict)
    mouth: Mouth | None = None
    gaze: Mapping[Side, Gaze] = field(default_factory=dict)
    lids: Mapping[Side, Floats] = field(default_factory=dict)
    head: Head | None = None
    lacks: Mapping[str, str] = field(default_factory=dict)
    """By check or part ('mouth', 'eyes'): what is missing to measure it, as a phrase after 'needs'."""
    worth: Mapping[str, int] = field(default_factory=dict)
    """Frame indices that would teach the mouth most when marked: some of 'shut', 'open', 'wide'; by looks alone, level 2 only."""


@dataclass(frozen=True)
class CameraView:
    """The camera of one frame: focal lengths and centre in px of the full-size frame, and world to camera."""

    matrix: Floats
    """float32 [shape=(3, 3)] fx 0 cx / 0 fy cy / 0 0 1"""
    world_to_camera: Floats
    """float32 [shape=(4, 4)]"""
