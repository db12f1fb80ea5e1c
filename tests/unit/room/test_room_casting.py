"""The cast through the routes: characters and props, contacts, marks as a table, following anew after a change and after undo."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from tests.make.rooms import Guest, guest, lantern_film, until
from tests.make.worker import MadeWorker

from shotcrit.checks.measured import Measured
from shotcrit.crit.records import Take

PLACED = [{"frame": 1010, "x": 0.25, "y": 0.5}]


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lantern_film(tmp_path_factory.mktemp("film"))


def _until_told(room: Guest) -> None:
    """Wait until every edit made so far has been told to all windows."""
    newest = room.get("/api/history")["entries"][0]["seq"]
    until(lambda: any(event.get("seq") == newest for event in room.get("/api/events")["events"]))


class HandTimers:
    """Timers that run out when a test says so, so that no machine is too slow or too fast for it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.waiting: list[HandTimers.Timer] = []
        monkeypatch.setattr(threading, "Timer", lambda *call: HandTimers.Timer(self, *call))

    class Timer:
        daemon = False

        def __init__(self, owner: HandTimers, _after_s: float, call: Any, args: tuple[Any, ...]) -> None:
            self.owner, self.call, self.args = owner, call, args

        def start(self) -> None:
            self.owner.waiting.append(self)

        def cancel(self) -> None:
            if self in self.owner.waiting:
                self.owner.waiting.remove(self)

    def run_out(self, room: Guest) -> None:
        """The one timer that waits once the room was told of every edit, in this thread."""
        _until_told(room)
        (timer,) = self.waiting
        self.waiting.clear()
        timer.call(*timer.args)


@pytest.fixture
def timers(monkeypatch: pytest.MonkeyPatch) -> HandTimers:
    return HandTimers(monkeypatch)


@pytest.fixture
def room(film: Path, tmp_path: Path, timers: HandTimers) -> Any:
    """A room in which nothing is followed: no time passes."""
    with guest(film, tmp_path) as one:
        yield one


def _cast(room: Guest) -> Any:
    return room.get("/api/takes/TAKE/cast")


def _fill(room: Guest) -> None:
    room.post("/api/takes/TAKE/cast/parts", {"name": " Ada  Lund ", "kind": "character"})
    room.post("/api/takes/TAKE/cast/parts", {"name": "kite", "kind": "prop"})
    room.put("/api/takes/TAKE/cast/marks/Ada Lund/hand_right", {"was": [], "now": PLACED})
    room.put("/api/takes/TAKE/cast/marks/kite/tail", {"was": [], "now": PLACED})


def test_characters_and_props_come_go_and_change_names(room: Guest) -> None:
    _fill(room)
    assert [c["name"] for c in _cast(room)["characters"]] == ["Ada Lund"]
    look = {"who": "Ada Lund", "at": "kite.tail", "first": 1001, "last": 1020}
    contact = {"a": "Ada Lund.hand_right", "b": "kite.tail", "first": 1001, "last": 1020}
    room.put("/api/takes/TAKE/cast/looks", {"was": [], "now": [look]})
    room.put("/api/takes/TAKE/cast/contacts", {"was": [], "now": [contact]})
    room.put("/api/takes/TAKE/cast/contacts", {"was": [], "now": []}, 409)

    room.patch("/api/takes/TAKE/cast/parts/kite", {"name": "lamp"})
    room.patch("/api/takes/TAKE/cast/parts/Ada Lund", {"name": "Ada"})
    cast = _cast(room)
    assert (cast["looks"][0]["who"], cast["looks"][0]["at"]) == ("Ada", "lamp.tail")
    assert (cast["contacts"][0]["a"], cast["contacts"][0]["b"]) == ("Ada.hand_right", "lamp.tail")

    assert "stands twice" in room.post("/api/takes/TAKE/cast/parts", {"name": "lamp", "kind": "character"}, 422)["says"]
    for name in ("camera", "a.b", "  "):
        assert "choose another" in room.post("/api/takes/TAKE/cast/parts", {"name": name, "kind": "prop"}, 422)["says"]
    assert "not in the cast" in room.delete("/api/takes/TAKE/cast/parts/Ben", 422)["says"]

    room.delete("/api/takes/TAKE/cast/parts/lamp")
    cast = _cast(room)
    assert (cast["props"], cast["looks"], cast["contacts"]) == ([], [], [])
    room.post("/api/undo", status=200)
    assert len(_cast(room)["contacts"]) == 1


def test_each_mark_is_one_step_of_undo_that_says_which(room: Guest) -> None:
    _fill(room)
    room.put("/api/takes/TAKE/cast/marks/kite/tail", {"was": PLACED, "now": []})
    labels = [entry["label"] for entry in room.get("/api/history")["entries"]]
    assert labels[:3] == ["delete kite's tail", "place kite's tail", "place Ada Lund's hand right"]


def test_a_table_loses_nothing_on_its_way_out_and_in(room: Guest) -> None:
    _fill(room)
    odd = [{"frame": 1003, "x": 1 / 3, "y": 0.1 + 0.2}, {"frame": 1010, "x": -0.25, "y": 1.5}]
    room.put("/api/takes/TAKE/cast/marks/kite/tail", {"was": PLACED, "now": odd})
    before = _cast(room)
    answer = room.client.get(f"/api/takes/{room.take}/marks.csv?followed=false")
    assert answer.headers["content-type"].startswith("text/csv")
    assert "marks.csv" in answer.headers["content-disposition"]
    room.delete("/api/takes/TAKE/cast/parts/kite")
    room.delete("/api/takes/TAKE/cast/parts/Ada Lund")
    sent = room.client.post(f"/api/takes/{room.take}/marks.csv", files={"file": ("m.csv", answer.content)})
    assert sent.json()["says"] == "3 placed marks, 3 of them new"
    assert _cast(room) == before


@pytest.mark.parametrize("table", [b"", b"frame,who\n", b"\xff\xfe", b"frame,who,mark,x,y\n1,Ada,nose,x,0\n"])
def test_a_broken_table_is_one_sentence_and_changes_nothing(room: Guest, table: bytes) -> None:
    answer = room.client.post(f"/api/takes/{room.take}/marks.csv", files={"file": ("m.csv", table)})
    assert answer.status_code == 422
    assert answer.json()["says"].startswith("the table")
    assert _cast(room)["characters"] == []


def test_followed_frames_come_along_when_asked_for(room: Guest) -> None:
    """The made measurement has marks of Oona's; they are written where she is in the cast."""
    room.post("/api/takes/TAKE/cast/parts", {"name": "Oona", "kind": "character"})
    rows = room.client.get(f"/api/takes/{room.take}/marks.csv").text.splitlines()
    placed = room.client.get(f"/api/takes/{room.take}/marks.csv?followed=false").text.splitlines()
    assert len(rows) > 200
    assert len(placed) == 1


@dataclass(frozen=True)
class FreshWorker(MadeWorker):
    """Knows what it measured last by the take's marks, as a real worker does."""

    def measure(self, take: Take, *arguments: Any) -> Measured:
        made = super().measure(take, *arguments)
        return replace(made, readings=replace(made.readings, cast=take.cast))


@dataclass(frozen=True)
class HeldWorker(FreshWorker):
    """Goes on measuring until it is let go, or stopped."""

    def measure(self, take: Take, limits: Any, around: Any, progress: Any) -> Measured:
        assert self.cache is not None
        while not (self.cache / "go").exists():
            progress.step("looking at pictures", 1, 20)
            time.sleep(0.02)
        return super().measure(take, limits, around, progress)


def test_changed_marks_are_followed_once_the_hand_rests_and_undo_too(film: Path, tmp_path: Path, timers: HandTimers) -> None:
    with guest(film, tmp_path, worker=FreshWorker(cache=tmp_path / "cache")) as room:
        room.get("/api/takes/TAKE/sheet")
        _fill(room)  # four quick edits
        timers.run_out(room)
        until(lambda: room.get("/api/jobs")[0]["state"] == "done")
        assert len(room.get("/api/jobs")) == 1
        room.post("/api/undo", status=200)
        timers.run_out(room)
        until(lambda: room.get("/api/jobs")[0]["state"] == "done")
        assert len(room.get("/api/jobs")) == 2
        # A look follows nothing.
        room.put("/api/takes/TAKE/cast/looks", {"was": [], "now": [{"who": "Ada Lund", "at": "camera"}]})
        timers.run_out(room)
        assert len(room.get("/api/jobs")) == 2
        assert room.get("/api/takes/TAKE/sheet")["looks"][0]["at"] == "camera"


def _begun(room: Guest, timers: HandTimers) -> str:
    """Id of the one job that follows the first marks."""
    room.get("/api/takes/TAKE/sheet")
    _fill(room)
    timers.run_out(room)
    (job,) = room.get("/api/jobs")
    return str(job["id"])


def _states(room: Guest) -> list[str]:
    return [job["state"] for job in room.get("/api/jobs")]


def test_stop_means_stop_until_the_next_edit(film: Path, tmp_path: Path, timers: HandTimers) -> None:
    cache = tmp_path / "cache"
    with guest(film, tmp_path, worker=HeldWorker(cache=cache)) as room:
        job = _begun(room, timers)
        room.put("/api/takes/TAKE/cast/marks/kite/tail", {"was": PLACED, "now": []})
        _until_told(room)
        room.delete(f"/api/jobs/{job}")
        assert timers.waiting == []  # what was to be followed after this one is not
        until(lambda: _states(room) == ["stopped"])
        room.put("/api/takes/TAKE/cast/marks/kite/tail", {"was": [], "now": PLACED})
        room.put("/api/takes/TAKE/cast/marks/kite/bow", {"was": [], "now": PLACED})
        cache.mkdir(exist_ok=True)
        (cache / "go").touch()
        timers.run_out(room)
        until(lambda: _states(room) == ["done", "stopped"])


def test_stop_stops_what_took_the_place_of_what_was_pressed(film: Path, tmp_path: Path, timers: HandTimers) -> None:
    """Between the picture of a button and the press on it the work may have begun anew for a changed mark."""
    with guest(film, tmp_path, worker=HeldWorker(cache=tmp_path / "cache")) as room:
        job = _begun(room, timers)
        room.put("/api/takes/TAKE/cast/marks/kite/tail", {"was": PLACED, "now": []})
        timers.run_out(room)
        assert _states(room) == ["running", "stopped"]
        room.delete(f"/api/jobs/{job}")
        until(lambda: _states(room) == ["stopped", "stopped"])


def test_stop_while_work_is_about_to_begin_anew(film: Path, tmp_path: Path, timers: HandTimers) -> None:
    """The press falls into the moment in which the old work ends for a changed mark and the new one has not begun."""
    with guest(film, tmp_path, worker=HeldWorker(cache=tmp_path / "cache")) as room:
        job = _begun(room, timers)
        join = room.room.jobs.join

        def pressed(job_id: str) -> None:
            join(job_id)
            room.room.following.stop_job(job)

        room.put("/api/takes/TAKE/cast/marks/kite/tail", {"was": PLACED, "now": []})
        room.room.jobs.join = pressed  # type: ignore[method-assign]
        timers.run_out(room)
        room.room.jobs.join = join  # type: ignore[method-assign]
        assert _states(room) == ["stopped"]


def test_a_name_may_hold_a_slash(room: Guest) -> None:
    for name in ("Ada/Ben", "50% grey?", "R#2"):
        asked = quote(name, safe="")
        room.post("/api/takes/TAKE/cast/parts", {"name": name, "kind": "character"})
        room.put(f"/api/takes/TAKE/cast/marks/{asked}/nose", {"was": [], "now": PLACED})
        (part,) = _cast(room)["characters"]
        assert (part["name"], list(part["marks"])) == (name, ["nose"])
        assert room.delete(f"/api/takes/TAKE/lessons/{asked}") == {"who": name, "count": 0}
        room.patch(f"/api/takes/TAKE/cast/parts/{asked}", {"name": f"{name}/2"})
        room.delete(f"/api/takes/TAKE/cast/parts/{quote(name + '/2', safe='')}")
        assert _cast(room)["characters"] == []
