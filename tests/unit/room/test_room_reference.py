"""What lies beside a take: in step by time, moved by an offset, kept in the crit, undone like all else."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest
from cv2 import IMREAD_COLOR_RGB, imdecode
from tests.make import films
from tests.make.open_rooms import KnownWorker, served

from shotcrit.clock import FrameClock
from shotcrit.crit.view import NotHere
from shotcrit.errors import ShotcritError
from shotcrit.room.room import Room
from shotcrit.room.takes.reference import in_step
from shotcrit.room.takes.shapes import ReferencePut

ME = "Ada"


def _steady(rate: int, frames: int) -> FrameClock:
    return FrameClock.steady(Fraction(rate), frames)


@pytest.mark.parametrize(
    ("own", "other", "offset_s", "frames"),
    [
        (_steady(24, 4), _steady(24, 4), 0, [0, 1, 2, 3]),
        (_steady(24, 4), _steady(24, 4), 1 / 24, [1, 2, 3, None]),
        (_steady(24, 4), _steady(24, 4), -2 / 24, [None, None, 0, 1]),
        (_steady(24, 4), _steady(12, 2), 0, [0, 0, 1, 1]),
        (_steady(12, 3), _steady(24, 9), 0, [1, 3, 5]),  # middles, halfway into the second of two
        (_steady(24, 3), _steady(24, 1), 5, [0, 0, 0]),
    ],
)
def test_frames_in_step(own: FrameClock, other: FrameClock, offset_s: float, frames: list[int | None]) -> None:
    assert in_step(own, other, offset_s) == frames


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    film = films.make_film(tmp_path / "s020.mp4", (np.full((90, 160, 3), 128, np.uint8) for _ in range(6)), gop=12)
    films.make_film(tmp_path / "acted.mp4", (np.full((90, 160, 3), 20 + 30 * i, np.uint8) for i in range(6)), gop=12)
    cv2.imwrite(str(tmp_path / "drawing.png"), np.full((90, 160, 3), 77, np.uint8))
    with served(film, tmp_path, worker=KnownWorker(cache=tmp_path / "cache")) as serving:
        yield serving.room


def _tone(data: bytes) -> float:
    picture = imdecode(np.frombuffer(data, np.uint8), IMREAD_COLOR_RGB)
    assert picture is not None
    return float(picture.mean())


def test_a_movie_is_laid_beside_moved_and_taken_away(room: Room, tmp_path: Path) -> None:
    take = room.takes.listed()[0].id
    assert room.references.of(take) is None
    laid = room.references.put(take, ReferencePut(path=str(tmp_path / "acted.mp4")), ME)
    assert laid is not None
    assert (laid.name, laid.frames) == ("acted.mp4", [0, 1, 2, 3, 4, 5])
    assert _tone(room.references.picture(take, 4)) == pytest.approx(140, abs=4)
    moved = room.references.put(take, ReferencePut(path=laid.path, offset_s=laid.frame_s), ME)
    assert moved is not None
    assert moved.frames == [1, 2, 3, 4, 5, None]
    room.edits.undo(ME)
    back = room.references.of(take)
    assert back is not None
    assert back.offset_s == 0
    assert room.references.put(take, ReferencePut(path=None), ME) is None
    with pytest.raises(NotHere, match="nothing lies beside"):
        room.references.picture(take, 0)


def test_a_drawing_stands_beside_all_frames(room: Room, tmp_path: Path) -> None:
    take = room.takes.listed()[0].id
    laid = room.references.put(take, ReferencePut(path=str(tmp_path / "drawing.png")), ME)
    assert laid is not None
    assert laid.frames == [0] * 6
    assert _tone(room.references.picture(take, 0)) == pytest.approx(77, abs=3)


def test_what_may_not_be_read_or_shows_nothing_is_refused(room: Room, tmp_path: Path) -> None:
    take = room.takes.listed()[0].id
    (tmp_path / "words.mp4").write_text("no movie")
    for path, said in (("/etc/hostname", "may not read there"), (str(tmp_path / "words.mp4"), "words.mp4")):
        with pytest.raises(ShotcritError, match=said):
            room.references.put(take, ReferencePut(path=path), ME)
    assert room.references.of(take) is None
