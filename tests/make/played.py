"""A head film as a movie and its truth as a cast: what a reviewer would have placed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.media.info import MovieInfo
from shotcrit.readings.cast import Cast, Character, Placed
from tests.make.heads3d import Heads

MOUTH = ("mouth_left", "mouth_right", "lip_upper", "lip_lower")


@dataclass(frozen=True)
class StillPicture:
    index: int
    frame: npt.NDArray[np.uint8]

    def luma(self, width: int) -> npt.NDArray[np.uint8]:
        high, wide = self.frame.shape
        if width == wide:
            return self.frame
        return np.asarray(cv2.resize(self.frame, (width, round(high * width / wide)), interpolation=cv2.INTER_AREA))


class Played:
    """Luma frames that behave as shotcrit.media.movie.Movie does."""

    def __init__(self, frames: Sequence[npt.NDArray[np.uint8]], *, first_frame: int = 1) -> None:
        self.frames = frames
        high, wide = frames[0].shape
        rate = Fraction(24)
        self.info = MovieInfo(
            Path("played.mov"), "played.mov", "0" * 64, len(frames), rate, False, wide, high, first_frame, len(frames) / rate, None
        )  # fmt: skip

    def pictures(self, start: int = 0, stop: int | None = None) -> Iterator[StillPicture]:
        for index in range(start, len(self.frames) if stop is None else stop):
            yield StillPicture(index, self.frames[index])


def placed_cast(film: Heads, anchor: int, mouths: Sequence[int], *, first_frame: int = 1, slip: float = 0.0, seed: int = 0) -> Cast:
    """Ada with every mark placed on frame `anchor`, and the mouth's on `mouths` too; each placed `slip` px (standard deviation) off."""
    rng = np.random.default_rng(seed)
    high, wide = film.frames[0].shape
    marks = {}
    for name, track in film.marks.items():
        frames = sorted({anchor, *(mouths if name in MOUTH else ())})
        spots = {f: (track[f] + slip * rng.standard_normal(2) + 0.5) / (wide, high) for f in frames}
        marks[name] = tuple(Placed(frame=f + first_frame, x=float(x), y=float(y)) for f, (x, y) in spots.items())
    return Cast(characters=(Character(name="Ada", marks=marks),))


def teaching_frames(film: Heads) -> tuple[int, int, int]:
    """A shut, the most open and the widest frame."""
    wide = np.where(film.opening < 0.3, film.width, 0)
    return 0, int(np.argmax(film.opening)), int(np.argmax(wide))
