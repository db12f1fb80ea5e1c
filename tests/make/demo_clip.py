"""A short piece of the shipped demo film, small enough to be measured while a test waits; and where its key says that a face is."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.resources import files
from itertools import islice
from pathlib import Path

import cv2
import numpy as np

from shotcrit.media import open_movie
from tests.make import films

FIRST = 1054
"""Shown frame of the demo at which the piece begins: Oona's face is turned to us."""
LENGTH = 40
SIZE = (960, 540)


def demo_clip(folder: Path) -> Path:
    """LENGTH frames of the demo's first shot, at SIZE."""
    film = Path(str(files("shotcrit"))) / "demo_film" / "lantern_040_take1.mp4"
    pictures = islice(open_movie(film, first_frame=1001).pictures(FIRST - 1001), LENGTH)
    return films.make_film(folder / "lantern_040_piece.mp4", _sized(p.rgb() for p in pictures), gop=12)


def _sized(pictures: Iterator[films.RGB]) -> Iterator[films.RGB]:
    for picture in pictures:
        yield np.asarray(cv2.resize(picture, SIZE, interpolation=cv2.INTER_AREA), np.uint8)


def placed_in_demo(who: str, mark: str, frame: int) -> tuple[float, float]:
    """Where the demo's own cast has a mark, on the placed frame nearest to `frame`; fractions of the picture."""
    cast = json.loads((Path(str(files("shotcrit"))) / "demo_film" / "lantern_040_take1.cast.json").read_text(encoding="utf-8"))
    part = next(p for p in (*cast["characters"], *cast["props"]) if p["name"] == who)
    spot = min(part["marks"][mark], key=lambda p: abs(p["frame"] - frame))
    return spot["x"], spot["y"]
