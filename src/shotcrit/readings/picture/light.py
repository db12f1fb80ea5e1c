"""Reads light and colour: PySceneDetect's content score of each picture, and the linear light of each cell for counting flashes.

The score is PySceneDetect's (ContentDetector of 0.6 and 0.7, default weights), computed here: through its own class it would draw an edge map of
every picture that the default weights then count as nothing. A reference test holds both to the same numbers.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.geometry.colour import linear
from shotcrit.media.blocks import Rows
from shotcrit.media.info import MovieInfo
from shotcrit.media.picture import Picture
from shotcrit.readings.picture.stillness.grid import CELLS, COLUMNS, LINES, Floats, stretches

WIDTH = 256
"""px; PySceneDetect itself brings pictures down to about this width by default."""
SCORES = ("content_val", "delta_hue", "delta_sat", "delta_lum")
ROW = len(SCORES) + 3 * CELLS


class LightReader:
    """One row a frame: content_val and its parts (hue, saturation, luma; mean of 8-bit steps against the frame before, 0 on the first),
    then linear light R, G, B of each cell, 0 black .. 1 white. Reads RGB of WIDTH px."""

    NAME = "light"
    VERSION = 1
    WARMUP = 1
    COLUMNS = (*SCORES, *(f"{colour} {cell}" for colour in "RGB" for cell in range(CELLS)))

    def __init__(self) -> None:
        self._before: npt.NDArray[np.uint8] | None = None

    def start(self, info: MovieInfo) -> None:
        self._before = None

    def feed(self, picture: Picture) -> Floats:
        """float32 [shape=(ROW,)]"""
        rgb = picture.rgb(WIDTH)
        before, self._before = self._before, np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2HSV), np.uint8)
        scores = content_scores(before, self._before)
        light = cv2.resize(cv2.LUT(rgb, _LIGHT), (COLUMNS, LINES), interpolation=cv2.INTER_AREA)
        return np.concatenate([np.array(scores, np.float32), np.moveaxis(light, -1, 0).ravel()])


def content_scores(before: npt.NDArray[np.uint8] | None, after: npt.NDArray[np.uint8]) -> tuple[float, float, float, float]:
    """content_val, delta_hue, delta_sat, delta_lum of two pictures as OpenCV's 8-bit HSV [shape=(h, w, 3)]; zeros with nothing before.

    delta = mean |after - before| of each channel; content_val their mean. Hue counts 0 to 179, and from 179 to 0 is far, as there.
    """
    if before is None or before.shape != after.shape:
        return 0.0, 0.0, 0.0, 0.0
    hue, saturation, brightness, _ = (float(v) for v in cv2.mean(cv2.absdiff(before, after)))
    return (hue + saturation + brightness) / 3, hue, saturation, brightness


def scores(rows: Rows) -> tuple[Floats, Floats]:
    """content_val and delta_lum of all of LightReader's rows, each float32 [shape=(n,)]."""
    parts = [rows[at.start : at.stop][:, [0, SCORES.index("delta_lum")]] for at in stretches(len(rows))]
    found = np.concatenate([np.zeros((0, 2), np.float32), *parts])
    return found[:, 0], found[:, 1]


def split(rows: Floats) -> tuple[Floats, Floats]:
    """content_val [shape=(n,)] and linear light [shape=(n, 3, 9, 16)] of LightReader's rows."""
    return rows[:, 0], rows[:, len(SCORES) :].reshape(len(rows), 3, LINES, COLUMNS)


_LIGHT = linear(np.arange(256)).astype(np.float32)
"""Of each 8-bit step. sRGB, as WCAG 2.x takes it for relative luminance; broadcast pictures differ by little (BT.1886 is a plain power of 2.4)."""
