"""Marks: what following them costs beside decoding, and how near they stay to the truth, in the same run."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from tests.make.films import make_film
from tests.make.moving import Moving, cloth, path

from bench.registry import Result, ratio, row
from bench.rows_picture import decode
from shotcrit.media import open_movie
from shotcrit.readings.cast import Cast, Placed, Prop
from shotcrit.readings.picture.mark_follow import follow_marks
from shotcrit.readings.picture.mark_frames import WORK_WIDTH

FRAMES = 264
HD = (1920, 1080)
SMALL = (960, 540)
POINTS = np.array(
    [(0, 0), (60, 30), (-70, 20), (20, -80), (-40, -60), (80, -50), (-90, 70), (50, 90), (-20, 100), (100, 10), (-110, -20), (10, 50)]
)


def _moving() -> Moving:
    return cloth(SMALL, path(FRAMES), POINTS.astype(float), quality=None)


def film(work: Path) -> tuple[Path, npt.NDArray[np.float32]]:
    """A film of 264 frames of 1920 x 1080 in H.264, and where its twelve marks truly are, px at 960."""
    movie, truth = work / "marks.mp4", work / "marks.npy"
    if not movie.exists():
        moving = _moving()
        make_film(movie, _large(moving), rate=Fraction(24), crf=20)
        np.save(truth, moving.truth)
    return movie, np.load(truth)


def _large(moving: Moving) -> Iterator[npt.NDArray[np.uint8]]:
    for frame in moving.frames:
        large = cv2.resize(frame, HD, interpolation=cv2.INTER_CUBIC)
        yield np.ascontiguousarray(np.repeat(large[..., None], 3, axis=2))


def follow(movie: Path, truth: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Decode and follow; distances from the truth, px at 960."""
    spots = (truth[:, 0] + 0.5) / SMALL
    marks = {f"m{k}": (Placed(frame=1, x=float(x), y=float(y)),) for k, (x, y) in enumerate(spots)}
    pictures = ((p.index, p.luma(WORK_WIDTH)) for p in open_movie(movie).pictures())
    tracks = follow_marks(pictures, Cast(props=(Prop(name="kite", marks=marks),)), (), HD)
    seen = np.stack([t.xy * SMALL - 0.5 for t in tracks])
    return np.asarray(np.linalg.norm(seen - truth, axis=2), dtype=np.float32)


@row("marks", goal="under 3")
def measure_following(work: Path) -> Result:
    """12 marks over 264 frames of 1920 x 1080, decoding and all, against decoding them once"""
    movie, truth = film(work)
    value = ratio(lambda: follow(movie, truth), lambda: decode(movie))
    return Result(value, "following and our own decoding, beside ffmpeg's decoding alone", reached=value < 3)


@row("marks", goal="at most 0.25 px")
def measure_distance(work: Path) -> Result:
    """Median distance of 12 textured marks from the truth over 264 frames, at 960 px"""
    wrong = follow(*film(work))
    value = float(np.nanmedian(wrong[:, 1:]))
    far, lost = float(np.nanquantile(wrong[:, 1:], 0.95)), float(np.isnan(wrong).mean())
    return Result(value, f"95th percentile {far:.2f} px, lost {lost:.1%}", "px", value <= 0.25 and far <= 1)
