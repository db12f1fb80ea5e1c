"""Notes, drawings, markers, phrases and settings through the routes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.make.rooms import Guest, guest

STROKE = {"tool": "pencil", "colour": "red", "points": [[0.5, 0.25, 0.5, 0], [0.6, 0.3, 1.0, 16.5]]}


def _note(room: Guest, **more: object) -> dict[str, object]:
    return room.post("/api/takes/TAKE/notes", {"first": 10, "last": 20, "what": "She looks over his head.", **more})  # type: ignore[no-any-return]


def test_a_note_is_written_changed_found_and_deleted(room: Guest) -> None:
    note = _note(room, who="Oona", weight="must", **{"try": "Drop the irises."})
    assert (note["what"], note["try"], note["weight"]) == ("She looks over his head.", "Drop the irises.", "must")
    changed = room.patch(f"/api/notes/{note['id']}", {"version": note["version"], "why": "He is sitting."})
    assert (changed["what"], changed["why"]) == ("She looks over his head.", "He is sitting.")
    assert changed["version"] > note["version"]
    assert [n["id"] for n in room.get("/api/takes/TAKE/notes?find=oona sitting")] == [note["id"]]
    assert room.get("/api/takes/TAKE/notes?find=bram") == []
    gone = room.delete(f"/api/notes/{note['id']}?version={changed['version']}")
    assert gone["gone"] == [{"kind": "note", "id": note["id"]}]
    assert room.get("/api/takes/TAKE/notes") == []


def test_notes_are_dragged_into_order(room: Guest) -> None:
    a, b, c = (_note(room, what=w) for w in "abc")
    answer = room.post(f"/api/notes/{c['id']}/move", {"version": c["version"], "after": a["id"]}, 200)
    assert [n["what"] for n in answer] == ["a", "c", "b"]
    answer = room.post(f"/api/notes/{b['id']}/move", {"version": b["version"], "after": None}, 200)
    assert [n["what"] for n in answer] == ["b", "a", "c"]
    assert [n["what"] for n in room.get("/api/crit")["notes"]] == ["b", "a", "c"]


def test_two_windows_on_the_same_words_get_409_with_what_is_there(room: Guest) -> None:
    note = _note(room)
    room.patch(f"/api/notes/{note['id']}", {"version": note["version"], "what": "first"})
    refused = room.patch(f"/api/notes/{note['id']}", {"version": note["version"], "what": "second"}, 409)
    assert refused["kind"] == "note"
    assert refused["current"]["what"] == "first"
    assert "another window" in refused["says"]
    merged = room.patch(f"/api/notes/{note['id']}", {"version": note["version"], "why": "kept beside it"})
    assert (merged["what"], merged["why"]) == ("first", "kept beside it")
    room.delete(f"/api/notes/{note['id']}")
    assert room.patch(f"/api/notes/{note['id']}", {"version": merged["version"], "what": "x"}, 409)["current"] is None


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ({"first": 20, "last": 10}, "the last frame comes before the first"),
        ({"first": 10, "last": 264}, "1001 to 1264"),
        ({"first": 10, "last": 12, "drawings": ["nowhere"]}, "no drawing"),
        ({"first": -1, "last": 12}, "first is not right"),
        ({"first": 1, "last": 2, "weight": "urgent"}, "weight is not right"),
        ({"first": 1, "last": 2, "surprise": 1}, "surprise is not right"),
        ({"first": 1, "last": 2, "what": "x" * 20_001}, "what is not right"),
    ],
)
def test_notes_that_cannot_be_are_refused_in_one_sentence(room: Guest, body: dict[str, object], says: str) -> None:
    refused = room.client.post(f"/api/takes/{room.take}/notes", json=body)
    assert refused.status_code in (404, 422)
    assert says in refused.json()["says"]
    assert room.get("/api/takes/TAKE/notes") == []


def test_a_drawing_lives_on_its_frames_and_with_its_note(room: Guest) -> None:
    note = _note(room)
    drawing = room.post("/api/takes/TAKE/drawings", {"first": 12, "last": 14, "strokes": [STROKE], "note": note["id"]})
    assert drawing["strokes"][0]["points"] == [[0.5, 0.25, 0.5, 0.0], [0.6, 0.3, 1.0, 16.5]]
    assert room.get("/api/takes/TAKE/notes")[0]["drawings"] == [drawing["id"]]
    more = room.post(f"/api/drawings/{drawing['id']}/strokes", {"strokes": [{**STROKE, "tool": "arrow"}]}, 200)
    assert [s["tool"] for s in more["strokes"]] == ["pencil", "arrow"]
    held = room.patch(f"/api/drawings/{drawing['id']}", {"version": more["version"], "last": 20})
    assert (held["first"], held["last"], len(held["strokes"])) == (12, 20, 2)
    room.delete(f"/api/drawings/{drawing['id']}")
    assert room.get("/api/takes/TAKE/notes")[0]["drawings"] == []


def test_a_drawing_is_copied_along_a_followed_mark(room: Guest) -> None:
    sheet = room.get("/api/takes/TAKE/sheet")
    who, mark = next((a["who"], m["mark"]) for a in sheet["acting"] for m in a["marks"])
    drawing = room.post("/api/takes/TAKE/drawings", {"first": 30, "last": 30, "strokes": [STROKE]})
    copies = room.post(f"/api/drawings/{drawing['id']}/along", {"who": who, "mark": mark, "first": 28, "last": 33})
    assert sorted(c["first"] for c in copies) == [28, 29, 31, 32, 33]
    track = room.room.worker.remembered(room.room.takes.get(room.take), {}).readings.actor(who).marks[mark].xy  # type: ignore[union-attr]
    for copy in copies:
        x, y = copy["strokes"][0]["points"][0][:2]
        dx, dy = track[copy["first"]] - track[30]
        assert (x, y) == pytest.approx((0.5 + dx, 0.25 + dy), abs=1e-6)
    assert room.post("/api/undo", None, 200)["label"] == "copy a drawing along a path"
    assert len(room.get("/api/takes/TAKE/drawings")) == 1


def test_undo_and_redo_answer_what_they_did(room: Guest) -> None:
    assert room.post("/api/undo", None, 404)["says"] == "there is nothing to take back"
    note = _note(room)
    state = room.get("/api/crit")
    assert (state["undo"], state["redo"]) == ("write a note", None)
    assert room.post("/api/undo", None, 200)["gone"] == [{"kind": "note", "id": note["id"]}]
    assert room.get("/api/crit")["redo"] == "write a note"
    assert room.post("/api/redo", None, 200)["changed"] == [{"kind": "note", "id": note["id"]}]
    entries = room.get("/api/history?limit=2")
    assert [e["what"] for e in entries["entries"]] == ["redo", "undo"]
    assert [e["what"] for e in room.get(f"/api/history?before={entries['older']}")["entries"]] == ["edit", "edit"]


def test_who_edits_is_written_down(room: Guest) -> None:
    room.client.headers["Shotcrit-Who"] = "Ad%C3%A8le"
    _note(room)
    assert room.get("/api/history")["entries"][0]["who"] == "Adèle"


def test_the_reaction_time_is_the_median_of_the_tries_that_can_be_one(room: Guest) -> None:
    calibrated = room.post("/api/reaction-time", {"samples_ms": [240, 250, 260, 270, 40, 255, 2400]}, 200)
    assert calibrated == {"reaction_ms": 255, "spread_ms": 5, "used": 5, "left_out": 2}
    assert room.get("/api/settings")["reaction_ms"] == 255


def test_too_few_real_reactions_are_refused(room: Guest) -> None:
    assert "press the key" in room.post("/api/reaction-time", {"samples_ms": [20, 30, 40, 50, 250]}, 422)["says"]


def test_markers_lie_over_findings(room: Guest) -> None:
    room.post("/api/reaction-time", {"samples_ms": [250] * 5}, 200)
    marker = room.post("/api/takes/TAKE/markers", {"pressed": 263, "text": "dead?"})
    assert (marker["pressed"], marker["frame"]) == (263, 257)  # 6 frames are 250 ms at 24 frames a second
    tray = {f["key"]: f for f in room.get("/api/takes/TAKE/findings")["findings"]}
    (under,) = room.get("/api/takes/TAKE/markers")
    assert under["findings"]
    assert all(tray[key]["markers"] == [marker["id"]] for key in under["findings"])
    assert all(tray[key]["first"] <= 257 + 12 and tray[key]["last"] >= 257 - 12 for key in under["findings"])
    moved = room.patch(f"/api/markers/{marker['id']}", {"version": marker["version"], "frame": 0})
    assert moved["frame"] == 0
    room.delete(f"/api/markers/{marker['id']}")
    assert room.get("/api/takes/TAKE/markers") == []


def test_settings_merge_by_name_and_go_back_to_their_defaults(room: Guest) -> None:
    before = room.get("/api/settings")
    room.patch("/api/settings", {"keys": {"step on": "k"}, "hidden": ["wave"]})
    after = room.patch("/api/settings", {"reaction_ms": 200})
    assert after == {**before, "keys": {"step on": "k"}, "hidden": ["wave"], "reaction_ms": 200}
    assert room.patch("/api/settings", {"keys": None})["keys"] == {}
    room.patch("/api/settings", {"listen_ceiling_db": 0}, 422)


def test_habits_go_to_the_next_crit(film: Path, tmp_path: Path) -> None:
    habits = tmp_path / "me" / "reviewer.json"
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    with guest(film, tmp_path / "one", habits=habits) as first:
        first.patch("/api/settings", {"reaction_ms": 200, "keys": {"step on": "k"}})
        first.post("/api/phrases", {"text": "Let it go on the word.", "field": "try"})
    with guest(film, tmp_path / "two", habits=habits) as second:
        assert second.get("/api/settings")["reaction_ms"] == 200
        assert [p["text"] for p in second.get("/api/phrases")] == ["Let it go on the word."]
        assert second.get("/api/crit")["undo"] is None
    habits.write_text(json.dumps({"settings": {"reaction_ms": "soon", "made up": 1}, "phrases": [{"text": 4}]}))
    (tmp_path / "three").mkdir()
    with guest(film, tmp_path / "three", habits=habits) as third:
        assert third.get("/api/settings")["reaction_ms"] == 250
        assert third.get("/api/phrases") == []


def test_phrases_stand_by_use(room: Guest) -> None:
    a = room.post("/api/phrases", {"text": "a"})
    b = room.post("/api/phrases", {"text": "b"})
    room.patch(f"/api/phrases/{b['id']}", {"version": b["version"], "used": 3})
    assert [p["text"] for p in room.get("/api/phrases")] == ["b", "a"]
    room.delete(f"/api/phrases/{a['id']}")
    assert [p["text"] for p in room.get("/api/phrases")] == ["b"]


def test_notes_of_another_program_come_in_as_one_edit(room: Guest) -> None:
    there = len(room.get("/api/takes/TAKE/notes"))
    table = b"first,last,what,weight\n1010,1012,Let her breathe.,must\n1015,,Hold it.,\n"
    read = room.client.post(f"/api/takes/{room.take}/brought", files={"file": ("notes.csv", table)})
    assert read.json() == {"notes": 2, "drawings": 0, "known": 0, "says": "2 notes and no drawings brought in."}
    assert [(n["first"], n["last"], n["weight"]) for n in room.get("/api/takes/TAKE/notes")][there:] == [
        (9, 11, "must"),
        (14, 14, "polish"),
    ]
    room.post("/api/undo", {}, 200)
    assert len(room.get("/api/takes/TAKE/notes")) == there
    for name, data in (("notes.exe", table), ("notes.csv", b"first,what\n1,a\n"), ("", b"")):
        refused = room.client.post(f"/api/takes/{room.take}/brought", files={"file": (name, data)})
        assert refused.status_code == 422
    assert len(room.get("/api/takes/TAKE/notes")) == there
