"""From films or bare pictures to picture readings, the way measuring does it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Check
from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import limits_for
from shotcrit.clock import FrameClock
from shotcrit.media.info import MovieInfo
from shotcrit.media.movie import open_movie
from shotcrit.readings.bundle import PictureReadings, Readings, Series
from shotcrit.readings.picture.reading import PICTURE_READERS, picture_readings
from shotcrit.readings.seen import Cadence
from tests.make.films import make_film
from tests.make.passes import run_pass

RGB = npt.NDArray[np.uint8]


@dataclass
class BarePicture:
    """What readers ask of a picture, over an array."""

    index: int
    pixels: RGB

    @property
    def width(self) -> int:
        return int(self.pixels.shape[1])

    @property
    def height(self) -> int:
        return int(self.pixels.shape[0])

    def luma(self, width: int) -> npt.NDArray[np.uint8]:
        return np.asarray(cv2.resize(cv2.cvtColor(self.pixels, cv2.COLOR_RGB2GRAY), self._size(width), interpolation=cv2.INTER_AREA))

    def rgb(self, width: int | None = None) -> RGB:
        return np.asarray(cv2.resize(self.pixels, self._size(width or self.pixels.shape[1]), interpolation=cv2.INTER_AREA), np.uint8)

    def _size(self, width: int) -> tuple[int, int]:
        return width, round(self.pixels.shape[0] * width / self.pixels.shape[1])


def read_pictures(pictures: Iterable[RGB], rate: Fraction = Fraction(24)) -> Readings:
    """Readings of bare pictures: no codec between."""
    readers = [make() for make in PICTURE_READERS]
    rows: dict[str, list[npt.NDArray[np.float32]]] = {reader.NAME: [] for reader in readers}
    size, count = (0, 0), 0
    for count, pixels in enumerate(pictures, 1):
        if count == 1:
            size = (pixels.shape[1], pixels.shape[0])
            info = film_info(size, 0, rate)
            for reader in readers:
                reader.start(info)
        for reader in readers:
            row = reader.feed(BarePicture(count - 1, pixels))  # type: ignore[arg-type]
            assert row is not None
            rows[reader.NAME].append(row)
    clock, info = FrameClock.steady(rate, count), film_info(size, count, rate)
    return Readings(info, clock, picture=picture_readings({k: np.stack(v) for k, v in rows.items()}, clock, info))


def read_film(path: Path) -> Readings:
    """Readings of a movie's pictures."""
    movie = open_movie(path)
    rows = run_pass(movie, [make() for make in PICTURE_READERS])
    return Readings(movie.info, movie.clock, picture=picture_readings(rows, movie.clock, movie.info))


def through_film(folder: Path, pictures: Iterable[RGB], *, rate: Fraction = Fraction(24), crf: int = 18, **how: object) -> Readings:
    """Readings of pictures that went through H.264 at this CRF."""
    return read_film(make_film(folder / "film.mp4", pictures, rate=rate, crf=crf, **how))


def judged(check: Check, readings: Readings, **limits: float) -> tuple[Finding, ...]:
    """What one check finds."""
    return check.run(readings, {**limits_for(check, {}), **limits}).findings


def with_picture(frames: int, *, rate: Fraction = Fraction(24), **parts: object) -> Readings:
    """Readings made by hand: PictureReadings with `parts` put over a picture that always moves 10 px."""
    info = film_info((1920, 1080), frames, rate)
    still, steady = np.zeros(frames, np.bool_), np.full(frames, 10, np.float32)
    moving = PictureReadings(still, Series("movement", "px", steady), (), 0.0, cadence=paced(still))
    picture: PictureReadings = replace(moving, **parts)  # type: ignore[arg-type]
    return Readings(info, FrameClock.steady(rate, frames), picture=picture)


def paced(rhythm: npt.NDArray[np.bool_], **parts: object) -> Cadence:
    """On ones, but for the repeats that belong to a rhythm."""
    return replace(Cadence("step", "on ones", 1, 0, None, 1.0, rhythm), **parts)  # type: ignore[arg-type]


def film_info(size: tuple[int, int], frames: int, rate: Fraction) -> MovieInfo:
    """What is known of bare pictures."""
    return MovieInfo(Path("bare"), "bare", "0" * 64, frames, rate, False, size[0], size[1], 1, Fraction(frames) / rate, None)
