"""What is read in the picture alone, as checks get to see it. Frames are indices from 0; arrays hold one row a frame of the movie."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span

FloatArray = npt.NDArray[np.float32]
BoolArray = npt.NDArray[np.bool_]

CadenceKind = Literal["step", "conversion", "pulldown"]
FadeKind = Literal["in", "out", "dissolve"]


@dataclass(frozen=True)
class Box:
    """A part of the picture, fractions of its width and height, origin top left."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """Its corners in order, the first once more at the end."""
        corners = (
            (self.left, self.top),
            (self.right, self.top),
            (self.right, self.bottom),
            (self.left, self.bottom),
            (self.left, self.top),
        )
        return tuple((float(x), float(y)) for x, y in corners)

    @property
    def where(self) -> str:
        """In which third of the picture its middle lies, for people."""
        middle = (self.left + self.right) / 2
        return "screen left" if middle < 0.4 else "screen right" if middle > 0.6 else "in the middle of the picture"


@dataclass(frozen=True)
class Cadence:
    """The rhythm of new pictures.

    name : for people ('on twos', '24 to 25 frames per second by repeats', 'on ones')
    period : frames after which the rhythm comes again; repeats : how many of each period repeat the frame before, negative: how many are left out
    source : pictures per second before the conversion, for conversions and pulldown
    fit : 0..1, part of the expected repeats that are there
    rhythm : bool [shape=(n_frames,)]; repeats that belong to the rhythm, and are no holds
    doubled, dropped : frames that repeat alone, or jump as far as two or three, within movement; one that jumps as far as three stands twice
    """

    kind: CadenceKind
    name: str
    period: int
    repeats: int
    source: Fraction | None
    fit: float
    rhythm: BoolArray
    doubled: tuple[int, ...] = ()
    dropped: tuple[int, ...] = ()


@dataclass(frozen=True)
class Fade:
    """The whole picture goes one way from `span`'s first frame to its last: in from black or one colour, out to it, or over to another picture."""

    span: Span
    kind: FadeKind


@dataclass(frozen=True)
class FrozenRegion:
    """A region that repeats over `span` while the rest of the picture moves on."""

    span: Span
    box: Box


@dataclass(frozen=True)
class LiveRegion:
    """A patch with a life of its own within a shot.

    step : frames on which each of its poses stands (1 ones, 2 twos, 3 threes); 0 where no rhythm is clear
    alive : 0..1, part of the shot's frames that it moves on
    """

    shot: Span
    box: Box
    step: int
    alive: float


@dataclass(frozen=True)
class Flashing:
    """Part of the picture, 0..1, that completes a change of light on each frame: float32 [shape=(n_frames,)]; see picture/flashes.py.

    rise, fall : of luminance; to_red, from_red : of a red flash
    """

    rise: FloatArray
    fall: FloatArray
    to_red: FloatArray
    from_red: FloatArray


@dataclass(frozen=True)
class Pull:
    """How strongly each cell of the picture draws the eye, float16 [shape=(n_frames, 9, 16)]; see picture/pull.py.

    looks : by light and colour, 0 the least of this picture .. 1 the most
    change : of the cell's most changed block against the frame before, the camera's movement taken out, 8-bit luma steps
    """

    looks: npt.NDArray[np.float16]
    change: npt.NDArray[np.float16]
