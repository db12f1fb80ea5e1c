"""The shots before and after in the cut: by the order of names in the folder, takes of one shot left out."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from cv2 import IMREAD_COLOR_RGB, imdecode
from tests.make import films
from tests.make.open_rooms import KnownWorker, served
from tests.make.rooms import Guest

from shotcrit.room.takes.beside import natural, shot_name, shots_beside


@pytest.mark.parametrize(
    ("names", "own", "found"),
    [
        (("s9.mp4", "s10.mp4", "s11.mp4"), "s10.mp4", {"before": "s9.mp4", "after": "s11.mp4"}),
        (("s010_v1.mov", "s010_v2.mov", "s020_v1.mov", "s020_v10.mov", "s020_v9.mov"), "s010_v1.mov", {"after": "s020_v10.mov"}),
        (("a_take1.mp4", "a_take2.mp4"), "a_take2.mp4", {}),
        (("s1.mp4", "s2.wav", "s2.txt", "s3.mp4"), "s3.mp4", {"before": "s1.mp4"}),
        (("shot12.mp4", "shot2.mp4"), "shot2.mp4", {"after": "shot12.mp4"}),
    ],
)
def test_neighbours_by_name(tmp_path: Path, names: tuple[str, ...], own: str, found: dict[str, str]) -> None:
    for name in names:
        (tmp_path / name).touch()
    assert {side: path.name for side, path in shots_beside(tmp_path / own).items()} == found


def test_names() -> None:
    assert sorted(("b2", "B10", "a", "b02x"), key=natural) == ["a", "b2", "b02x", "B10"]
    assert [shot_name(Path(n)) for n in ("s010_v002.mov", "shot12.mp4", "v2.mp4", "x Take 3.mp4")] == ["s010", "shot12", "v2", "x"]


def _plain(path: Path, *tones: int) -> Path:
    return films.make_film(path, (np.full((90, 160, 3), tone, np.uint8) for tone in tones), gop=12)


def test_the_room_shows_the_last_picture_before_and_the_first_after(tmp_path: Path) -> None:
    own = _plain(tmp_path / "s020.mp4", 128, 128, 128)
    _plain(tmp_path / "s010.mp4", 60, 60, 200)
    _plain(tmp_path / "s030.mp4", 90, 30, 30)
    with served(own, tmp_path, worker=KnownWorker(cache=tmp_path / "cache")) as serving:
        room = serving.room
        take = room.takes.listed()[0].id
        said = room.beside.named(take)
        assert said.before is not None
        assert said.after is not None
        assert (said.before.name, said.after.name) == ("s010", "s030")
        for side, tone in (("before", 200), ("after", 90)):
            picture = imdecode(np.frombuffer(room.beside.picture(take, side), np.uint8), IMREAD_COLOR_RGB)
            assert picture is not None
            assert picture.shape == (90, 160, 3)
            assert picture.mean() == pytest.approx(tone, abs=4)


def test_where_there_is_none_it_is_said(room: Guest) -> None:
    assert room.get("/api/takes/TAKE/beside") == {"before": None, "after": None}
    answer = room.client.get(f"/beside/{room.take}/after.jpg")
    assert answer.status_code == 404
    assert answer.json()["says"] == "no shot after this one lies in its folder"
