"""The next take in the room: what was asked, on its new frames, and what came along once both takes are lined up."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.make import films
from tests.make.measured import FRAMES
from tests.make.rooms import Guest, guest, until
from tests.make.worker import MadeWorker

LATER = 12


@pytest.fixture
def first(film: Path, tmp_path: Path) -> Iterator[Guest]:
    """A room with notes on take 1; everything of a further take lies 12 frames later."""
    worker = MadeWorker(cache=film.parent / "cache", later=LATER)
    with guest(film, tmp_path, worker=worker) as room:
        room.post("/api/takes/TAKE/notes", {"first": 70, "last": 80, "still": 75, "weight": "must", "what": "She looks over his head."})
        room.post("/api/takes/TAKE/notes", {"first": 30, "last": 40, "weight": "keep", "what": "The little drop."})
        yield room


@pytest.fixture
def second(first: Guest, tmp_path: Path) -> tuple[Guest, str]:
    """The same with take 2, and its id."""
    return first, _take_two(first, tmp_path)


def _take_two(room: Guest, folder: Path) -> str:
    movie = films.make_film(folder / "take2.mp4", films.numbered(FRAMES, size=(96, 54), seed=3), sound=films.tone(11), gop=12)
    take = room.post("/api/takes", {"path": str(movie), "shot": room.get("/api/takes")[0]["shot"]})
    assert (take["number"], take["arrival"]["after"]) == (2, room.take)
    return str(take["id"])


def _lined_up(room: Guest, take: str) -> Any:
    return until(lambda: (asked := room.get(f"/api/takes/{take}/asked"))["lined_up"] and asked)


def test_what_was_asked_lies_on_its_new_frames(second: tuple[Guest, str]) -> None:
    room, take = second
    asked = _lined_up(room, take)
    assert [(n["note"]["weight"], n["first"], n["last"], n["still"]) for n in asked["notes"]] == [
        ("keep", 30 + LATER, 40 + LATER, 30 + LATER),
        ("must", 70 + LATER, 80 + LATER, 75 + LATER),
    ]
    assert [n["sure"] for n in asked["notes"]] == [0.9, 0.9]
    assert [n["asked_on"] for n in asked["notes"]] == [[1], [1]]
    assert {(n["verdict"], n["says"].partition("Only")[2]) for n in asked["notes"]} == {
        ("cannot tell", " the sound could be lined up, so nobody can tell whether the picture changed here.")
    }
    (lined,) = room.get(f"/api/takes/{take}/lined")
    assert (lined["take"], lined["number"], lined["framing"]) == (room.take, 1, None)
    assert (lined["old_of"][: LATER + 2], len(lined["sure"])) == ([None] * LATER + [0, 1], FRAMES)
    assert room.get("/api/takes/TAKE/asked")["notes"] == [], "nothing was asked before take 1"


def test_what_the_older_take_had_not_is_told_apart(second: tuple[Guest, str]) -> None:
    room, take = second
    told = _lined_up(room, take)["new_findings"]
    found = {f["key"]: f["check"] for f in room.get(f"/api/takes/{take}/findings")["findings"]}
    # Both takes read alike, so what lies within reach of its old place, 12 frames later, is the old thing; the rest is new.
    assert sorted(found[key] for key in told) == ["contact", "lipsync"]


def test_a_note_is_asked_again_by_one_request_and_undone_by_one(second: tuple[Guest, str]) -> None:
    room, take = second
    note = _lined_up(room, take)["notes"][1]["note"]
    said = room.post(f"/api/takes/{take}/asked/{note['id']}", {"version": note["version"], "how": "again"}, 200)
    assert (said["settled"]["how"], said["closed"]) == ("again", False)
    (again,) = room.get(f"/api/takes/{take}/notes")
    assert (again["first"], again["last"], again["what"], again["carried_from"]) == (82, 92, note["what"], note["id"])
    assert room.post("/api/undo", None, 200)["label"] == "ask a note again"
    assert room.get(f"/api/takes/{take}/notes") == []
    assert room.get(f"/api/takes/{take}/asked")["notes"][1]["note"]["settled"] is None


def test_a_corrected_word_comes_along_to_its_new_time(first: Guest, tmp_path: Path) -> None:
    room, said = first, {"text": "promised", "start_s": 1.0, "end_s": 1.5}
    room.post("/api/takes/TAKE/corrections", {"changes": [{"event": "word", "was": None, "now": said}]})
    take = _take_two(room, tmp_path)
    _lined_up(room, take)
    (word,) = [c for c in room.get("/api/crit")["corrections"] if c["take"] == take]
    assert (word["now"]["text"], word["now"]["start_s"], word["now"]["end_s"]) == ("promised", 1.5, 2.0)
    new = next(t for t in room.get("/api/takes") if t["id"] == take)
    assert new["arrival"]["says"] == "1 of 1 correction by hand comes along."
