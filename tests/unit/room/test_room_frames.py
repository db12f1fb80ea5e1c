"""Pictures that cannot be made, or were damaged in the cache: said in one sentence, and made anew."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.make.rooms import guest, until
from tests.make.worker import MadeWorker

from shotcrit.media.sealed import read_sealed


def test_pictures_that_cannot_be_kept_say_so_once_and_are_made_when_they_can(film: Path, tmp_path: Path) -> None:
    worker = MadeWorker(cache=tmp_path / "cache")
    with guest(film, tmp_path, worker=worker) as room:
        folder = worker.frames_folder(room.room.takes.listed()[0])
        folder.parent.mkdir(parents=True, exist_ok=True)
        folder.write_text("no folder")

        def jobs() -> list[dict[str, str]]:
            return [j for j in room.get("/api/jobs") if j["kind"] == "frames"]

        room.get("/api/takes/TAKE/frames")
        until(lambda: jobs()[0]["state"] == "failed")
        says = jobs()[0]["says"]
        assert says.startswith(str(folder))
        assert "cannot be written" in says
        asked = room.client.get(f"/frame/{room.take}/3.jpg")
        assert asked.status_code == 422
        assert asked.json()["says"].startswith(str(folder))
        assert len(jobs()) == 1

        folder.unlink()
        room.get("/api/takes/TAKE/frames")
        until(lambda: jobs()[0]["state"] == "done")
        assert room.client.get(f"/frame/{room.take}/3.jpg").content.startswith(b"\xff\xd8\xff")


@pytest.mark.parametrize("harm", ["cut off", "other bytes", "empty", "a folder"])
def test_a_picture_that_was_damaged_in_the_cache_is_made_again(film: Path, tmp_path: Path, harm: str) -> None:
    worker = MadeWorker(cache=tmp_path / "cache")
    with guest(film, tmp_path, worker=worker) as room:
        path = worker.frames_folder(room.room.takes.listed()[0]) / "000003.jpg"
        right = room.client.get(f"/frame/{room.take}/3.jpg").content
        _harm(path, harm)
        assert room.client.get(f"/frame/{room.take}/3.jpg").content == right
        assert read_sealed(path) == right, "mended on disk too"


@pytest.mark.parametrize("harm", ["cut off", "other bytes", "empty", "a folder"])
def test_a_sound_that_was_damaged_in_the_cache_is_made_again(film: Path, tmp_path: Path, harm: str) -> None:
    worker = MadeWorker(cache=tmp_path / "cache")
    with guest(film, tmp_path, worker=worker) as room:
        right = room.client.get(f"/sound/{room.take}.flac").content
        _harm(worker.frames_folder(room.room.takes.listed()[0]) / "sound.flac", harm)
        assert room.client.get(f"/sound/{room.take}.flac").content == right


def _harm(path: Path, harm: str) -> None:
    data = path.read_bytes()
    path.unlink()
    if harm == "a folder":
        path.mkdir()
        (path / "in it").touch()
    else:
        path.write_bytes({"cut off": data[:-9], "other bytes": data[:500] + bytes(20) + data[520:], "empty": b""}[harm])
