"""Pictures that cannot be made: said in one sentence, and begun anew only when asked."""

from __future__ import annotations

from pathlib import Path

from tests.make.rooms import guest, until
from tests.make.worker import MadeWorker


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
