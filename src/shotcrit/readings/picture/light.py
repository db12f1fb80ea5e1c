"""Reads light and colour: PySceneDetect's content score of each picture, and the linear light of each cell for counting flashes."""

from __future__ import annotations

import cv2
import numpy as np
from scenedetect import FrameTimecode
from scenedetect.detectors import ContentDetector
from scenedetect.stats_manager import StatsManager

from shotcrit.media.info import MovieInfo
from shotcrit.media.picture import Picture
from shotcrit.readings.picture.grid import CELLS, COLUMNS, LINES, Floats

WIDTH = 256
"""px; PySceneDetect itself brings pictures down to about this width by default."""
SCORES = ("content_val", "delta_hue", "delta_sat", "delta_lum")
ROW = len(SCORES) + 3 * CELLS
GAMMA = 2.4
"""sRGB, IEC 61966-2-1, as WCAG 2.x takes it for relative luminance; broadcast pictures differ by little (BT.1886 is a plain power of 2.4)."""


class LightReader:
    """One row a frame: content_val and its parts (hue, saturation, luma; mean of 8-bit steps against the frame before, 0 on the first),
    then linear light R, G, B of each cell, 0 black .. 1 white. Reads RGB of WIDTH px."""

    NAME = "light"
    VERSION = 1
    WARMUP = 1
    COLUMNS = (*SCORES, *(f"{colour} {cell}" for colour in "RGB" for cell in range(CELLS)))

    def __init__(self) -> None:
        self._detector: ContentDetector | None = None

    def start(self, info: MovieInfo) -> None:
        self._detector = ContentDetector(min_scene_len=0)
        self._rate = float(info.rate) if info is not None else 24.0

    def feed(self, picture: Picture) -> Floats:
        """float32 [shape=(ROW,)]"""
        assert self._detector is not None
        rgb = picture.rgb(WIDTH)
        at = FrameTimecode(picture.index, self._rate)
        self._detector.stats_manager = StatsManager()
        self._detector.process_frame(at, cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR))
        scores = [0.0 if s is None else s for s in self._detector.stats_manager.get_metrics(at, list(SCORES))]
        light = cv2.resize(cv2.LUT(rgb, _LIGHT), (COLUMNS, LINES), interpolation=cv2.INTER_AREA)
        return np.concatenate([np.array(scores, np.float32), np.moveaxis(light, -1, 0).ravel()])


def split(rows: Floats) -> tuple[Floats, Floats]:
    """content_val [shape=(n,)] and linear light [shape=(n, 3, 9, 16)] of LightReader's rows."""
    return rows[:, 0], rows[:, len(SCORES) :].reshape(len(rows), 3, LINES, COLUMNS)


def _light_table() -> Floats:
    shown = np.arange(256) / 255
    return np.where(shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** GAMMA).astype(np.float32)


_LIGHT = _light_table()
