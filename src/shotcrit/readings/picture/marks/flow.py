"""Flow of points from frame to frame, forward and back again: coarsely on a quarter of the picture, then finely on tiles around each point.

Pyramidal Lucas-Kanade (Bouguet 1999) spends most of its time on pyramids of whole pictures. Its three coarse levels are those of the quarter picture, which
is made once a frame; its two fine ones only look at what lies around a point. Points of several pairs of frames go together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.marks.tiles import SIDE, Tiles

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]
Picture = npt.NDArray[np.uint8]
Rows = npt.NDArray[np.intp]

_UNTIL: dict[str, Any] = {"winSize": (21, 21), "criteria": (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 20, 0.02)}
COARSE: dict[str, Any] = {**_UNTIL, "maxLevel": 2}
FINE: dict[str, Any] = {**_UNTIL, "maxLevel": 1, "flags": cv2.OPTFLOW_USE_INITIAL_FLOW}
QUARTER = 4
FAR = 14.0
"""px from a tile's middle, within which the fine levels' window still lies on the tile."""


@dataclass(frozen=True)
class View:
    """A frame: its luma, and a quarter of it (two steps of the pyramid)."""

    luma: Picture
    quarter: Picture


def view_of(luma: Picture) -> View:
    return View(luma, np.asarray(cv2.pyrDown(cv2.pyrDown(luma)), np.uint8))


@dataclass(frozen=True)
class Pair:
    """A frame, the one that follows in the direction of work, and which points go from the one to the other."""

    before: View
    after: View
    rows: Rows


def flow(pairs: Sequence[Pair], spots: Floats) -> tuple[Floats, Floats, Tiles]:
    """Where `spots` [shape=(n, 2)] went, the forward-backward error, px (inf where the flow gave up), and the tiles of the frames after."""
    if not len(spots):
        return spots, np.zeros(0, np.float32), Tiles(0)
    there, ok = _coarse([(p.before, p.after, p.rows) for p in pairs], spots)
    before, after = _tiles(pairs, spots, there)
    every = np.arange(len(spots))
    there, ok_fine = _fine(before, after, every, spots, there)
    back, ok_back = _coarse([(p.after, p.before, p.rows) for p in pairs], there)
    near = before.off(every, back) < FAR
    back, ok_last = _fine(after, before, every, there, np.where(near[:, None], back, spots))
    miss = np.linalg.norm(back - spots, axis=1)
    miss[~(ok & ok_fine & ok_back & ok_last & near)] = np.inf
    return there, miss.astype(np.float32), after


def _tiles(pairs: Sequence[Pair], spots: Floats, there: Floats) -> tuple[Tiles, Tiles]:
    before, after = Tiles(len(spots)), Tiles(len(spots))
    for pair in pairs:
        rows = pair.rows.tolist()
        before.put(rows, [pair.before.luma] * len(rows), spots[pair.rows])
        after.put(rows, [pair.after.luma] * len(rows), there[pair.rows])
    return before, after


def _coarse(ways: Sequence[tuple[View, View, Rows]], spots: Floats) -> tuple[Floats, Bools]:
    there, ok = spots.copy(), np.zeros(len(spots), bool)
    for before, after, rows in ways:
        start = np.ascontiguousarray(spots[rows, None] / QUARTER)
        found, known, _ = cv2.calcOpticalFlowPyrLK(before.quarter, after.quarter, start, None, **COARSE)
        there[rows], ok[rows] = QUARTER * found[:, 0], known[:, 0] > 0
    return there, ok


def _fine(before: Tiles, after: Tiles, rows: Rows, spots: Floats, guess: Floats) -> tuple[Floats, Bools]:
    to_after = after.to_sheet(rows)
    start, end = (spots + before.to_sheet(rows))[:, None], (guess + to_after)[:, None].copy()
    found, known, _ = cv2.calcOpticalFlowPyrLK(before.sheet, after.sheet, start, end, **FINE)
    there = (found[:, 0] - to_after).astype(np.float32)
    return there, (known[:, 0] > 0) & (after.off(rows, there) < SIDE // 2)
