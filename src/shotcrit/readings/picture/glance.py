"""Reads a glance at each picture: its luma on a small grid, fine enough to know a picture again in another take and to see where it changed."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.media.blocks import Rows
from shotcrit.media.info import MovieInfo
from shotcrit.media.picture import Picture
from shotcrit.readings.picture.stillness.movement import working_width

Floats = npt.NDArray[np.float32]

WIDE, HIGH = 64, 36
"""Squares across and down, whatever the picture's size: 30 px of 1920 each; a mouth in a medium shot covers two (guess: the least that shows it open)."""


class GlanceReader:
    """One row a frame: mean luma of each square, 8-bit steps with fractions, line by line from the top left. Reads luma of the movement's width."""

    NAME = "glance"
    VERSION = 1
    WARMUP = 0
    COLUMNS = tuple(f"luma {square}" for square in range(WIDE * HIGH))

    def start(self, info: MovieInfo) -> None:
        """Nothing to forget: a glance hangs on one picture alone."""

    def feed(self, picture: Picture) -> Floats:
        """float32 [shape=(WIDE * HIGH,)]"""
        luma = picture.luma(working_width(picture.width, picture.height))
        return np.asarray(cv2.resize(luma.astype(np.float32), (WIDE, HIGH), interpolation=cv2.INTER_AREA), np.float32).ravel()


def glances(rows: Rows) -> Floats:
    """float32 [shape=(n, HIGH, WIDE)] of GlanceReader's rows; nan where a picture could not be decoded."""
    return np.asarray(rows[0 : len(rows)], np.float32).reshape(len(rows), HIGH, WIDE)
