"""How right a height is that was read across an outline, on pictures of film that nobody here made: each is carried about by a known way.

The picture is real, the way is ours, so that the truth is known to a part of a pixel: what is judged is whether edges as film has them (soft, grained, curved,
before busy backgrounds) are found again, and whether the error that is told covers what is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import av
import cv2
import numpy as np
import numpy.typing as npt
from tests.make.carried_edges import OVER, SIZE, Picture, Spot, beside_outlines, carried, wrong_by

from bench.strangers_film import clips_of
from shotcrit.readings.picture.marks.outline import find_outline

MOST = 40
"""Spots beside an outline that are tried on a picture."""
EDGE, EVERY = 40, 9
"""px; how far spots stay from the picture's edge, and how far from one another."""
SURE = 1.0
"""px; heights that are told as surer than this are what breaths are judged by (across.SURE)."""
COVERED = 1.96
"""Standard errors within which 95 of 100 normal errors lie."""


@dataclass(frozen=True)
class Told:
    """given_up : heights of all asked for; rows : px wrong and its own error, [shape=(n, 2)], of those told"""

    spots: int
    given_up: float
    rows: npt.NDArray[np.float64]


def report(folder: Path) -> str:
    """A row for each clip of `folder`/clips, as Markdown; '' where there are none."""
    found = [(film.name, told) for film in clips_of(folder) for told in _judged(film)]
    if not found:
        return ""
    head = (
        "| clip | spots | given up | told surer than 1 px | of these median and 95 % off, px | within 1.96 of its own error |\n"
        + "| --- " * 6
        + "|"
    )
    rows = np.concatenate([told.rows for _, told in found])
    whole = Told(sum(told.spots for _, told in found), float(np.mean([told.given_up for _, told in found])), rows)
    return "\n".join([head, *(_row(name, told) for name, told in found), _row("all", whole), ""])


def _row(name: str, told: Told) -> str:
    sure = np.abs(told.rows[told.rows[:, 1] < SURE])
    if not len(sure):
        return f"| {name} | {told.spots} | {told.given_up:.0%} | 0 | | |"
    off = f"{np.median(sure[:, 0]):.2f}, {np.quantile(sure[:, 0], 0.95):.2f}"
    return f"| {name} | {told.spots} | {told.given_up:.0%} | {len(sure)} | {off} | {np.mean(sure[:, 0] < COVERED * sure[:, 1]):.1%} |"


def _judged(film: Path) -> Iterator[Told]:
    still = _middle(film)
    if still is None:
        return
    frames, way = carried(still, seed=1)
    spots = _spots(frames[0])
    corners = cv2.goodFeaturesToTrack(frames[0][EDGE:-EDGE, EDGE:-EDGE], 1, 0.01, 10)
    if not spots or corners is None:
        return
    tracks = beside_outlines(frames, spots, (float(corners[0, 0, 0]) + EDGE, float(corners[0, 0, 1]) + EDGE))
    rows = [row for track in tracks if (row := wrong_by(track, way)) is not None]
    if rows:
        yield Told(len(rows), 1 - sum(map(len, rows)) / (len(rows) * (len(frames) - 1)), np.concatenate(rows))


def _middle(film: Path) -> Picture | None:
    """Luma of the film's middle picture; None where it cannot be read."""
    try:
        with av.open(str(film)) as file:
            kept = [frame.reformat(format="gray") for frame in file.decode(video=0)]
    except av.FFmpegError:
        return None
    if not kept:
        return None
    luma = np.asarray(kept[len(kept) // 2].to_ndarray(), np.uint8)
    return np.asarray(cv2.resize(luma, (OVER * SIZE[0], OVER * SIZE[1]), interpolation=cv2.INTER_AREA), np.uint8)


def _spots(picture: Picture) -> list[Spot]:
    grid = [(float(x), float(y)) for y in range(EDGE, SIZE[1] - EDGE, EVERY) for x in range(EDGE, SIZE[0] - EDGE, EVERY)]
    np.random.default_rng(1).shuffle(grid)
    return [spot for spot in grid if find_outline(picture, (spot[0], spot[1])) is not None][:MOST]
