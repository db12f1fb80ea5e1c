"""Takes, media, lines, cast, corrections, the sheet, findings, jobs and sending, through the routes."""

from __future__ import annotations

import base64
import io
import json
import os
import shutil
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cv2 import IMREAD_COLOR_RGB, imdecode
from tests.make import films
from tests.make.measured import CUTS, DEAD_TAIL, FRAMES, measured
from tests.make.rooms import Guest, guest, until
from tests.make.worker import MadeWorker

from shotcrit.checks.registry import all_checks
from shotcrit.sheet.build import build_sheet

TAIL = ("hold", "tail")


def _ended(room: Guest, job: dict[str, Any]) -> dict[str, Any]:
    def asked() -> dict[str, Any] | None:
        now: dict[str, Any] = room.get(f"/api/jobs/{job['id']}")
        return None if now["state"] in ("waiting", "running") else now

    return until(asked)  # type: ignore[no-any-return]


def _array(packed: dict[str, Any]) -> np.ndarray:
    return np.frombuffer(base64.b64decode(packed["data"]), packed["dtype"]).reshape(packed["shape"])


def _tray(room: Guest, kind: tuple[str, str] = TAIL) -> dict[str, Any]:
    return next(f for f in room.get("/api/takes/TAKE/findings")["findings"] if (f["check"], f["kind"]) == kind)


# The picture and the sheet


def test_every_frame_served_is_the_frame_asked_for(room: Guest) -> None:
    for index in (0, 1, 131, 130, FRAMES - 1, 47):
        answer = room.client.get(f"/frame/{room.take}/{index}.jpg")
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
        picture = imdecode(np.frombuffer(answer.content, np.uint8), IMREAD_COLOR_RGB)
        assert films.read_stamp(picture) == index


def test_a_frame_that_is_not_there_is_no_frame(room: Guest) -> None:
    assert "no such frame" in room.get(f"/frame/TAKE/{FRAMES}.jpg", 404)["says"]
    room.get("/frame/nowhere/0.jpg", 404)
    room.get("/frame/TAKE/-1.jpg", 422)
    room.get("/frame/TAKE/0.jpg?width=99999", 422)


def test_a_wide_still_is_never_wider_than_the_movie(room: Guest) -> None:
    picture = imdecode(np.frombuffer(room.client.get(f"/frame/{room.take}/5.jpg?width=4096").content, np.uint8), IMREAD_COLOR_RGB)
    assert picture.shape == (54, 96, 3)
    assert films.read_stamp(picture) == 5


def test_the_frame_table_says_when_each_frame_is_on_screen(room: Guest) -> None:
    table = room.get("/api/takes/TAKE/frames")
    assert table["edges_s"] == pytest.approx([i / 24 for i in range(FRAMES + 1)], abs=1e-9)
    assert (table["frames"], table["first_frame"], table["width"], table["height"]) == (FRAMES, 1001, 96, 54)
    answer = room.client.get(table["sound"]["url"], headers={"Range": "bytes=0-3"})
    assert (answer.status_code, answer.content) == (206, b"fLaC")
    table = until(lambda: (t := room.get("/api/takes/TAKE/frames"))["ready"] == [{"first": 0, "last": FRAMES - 1}] and t)
    assert table


def test_the_sheet_shows_what_was_measured(room: Guest) -> None:
    sheet, known = room.get("/api/takes/TAKE/sheet"), measured().readings
    assert known.sound is not None
    assert sheet["measured"] is True
    assert [w["text"] for w in sheet["words"]] == [w.text for w in known.sound.words]
    word = sheet["words"][3]
    assert (word["first"], word["last"]) == (int(word["start_s"] * 24), -(-word["end_s"] * 24 // 1) - 1)
    assert [c["frame"] for c in sheet["cuts"]] == list(CUTS)
    assert sheet["repeats"] == [{"first": FRAMES - DEAD_TAIL, "last": FRAMES - 1}]
    wave = _array(sheet["wave"])
    assert wave.shape == known.sound.wave.shape
    assert np.abs(wave / 127 - np.clip(known.sound.wave, -1, 1)).max() <= 0.5 / 127 + 1e-6
    track = sheet["acting"][0]["marks"][0]
    actor = next(a for a in known.acting if a.who == sheet["acting"][0]["who"])
    np.testing.assert_array_equal(_array(track["xy"]), actor.marks[track["mark"]].xy)


def test_the_room_gets_the_sent_sheets_own_lanes(room: Guest) -> None:
    made = build_sheet(measured()).lanes
    lanes = room.get("/api/takes/TAKE/sheet")["lanes"]
    assert [(lane["column"], lane["who"]) for lane in lanes] == [(lane.column, lane.who) for lane in made]
    assert [[s["kind"] for s in lane["stretches"]] for lane in lanes] == [[s.kind for s in lane.stretches] for lane in made]
    drawn = next(lane for lane in lanes if lane["column"] == "mouth")["curves"][1]
    assert drawn["id"] == "mouth.seen"
    np.testing.assert_array_equal(_array(drawn["values"]), next(lane for lane in made if lane.column == "mouth").curves[1].values)


def test_what_is_left_alone_is_no_fault_on_the_sheet(room: Guest) -> None:
    """The look that was said to miss meets again, and the held frames are told by nobody."""

    def kinds(column: str) -> set[str]:
        lanes = [lane for lane in room.get("/api/takes/TAKE/sheet")["lanes"] if lane["column"] == column]
        return {stretch["kind"] for lane in lanes for stretch in lane["stretches"]}

    assert {"look_missed"} <= kinds("eyes")
    assert {"dead_told"} <= kinds("picture")
    for finding in room.get("/api/takes/TAKE/findings")["findings"]:
        if finding["check"] in ("eyeline", "hold"):
            room.post(f"/api/takes/TAKE/findings/{finding['key']}/dismiss", {"reason": "meant so"}, status=200)
    assert "look_missed" not in kinds("eyes")
    assert {"dead"} <= kinds("picture")
    assert "dead_told" not in kinds("picture")


def test_a_finding_says_in_which_column_its_evidence_is_drawn(room: Guest) -> None:
    found = {f["check"]: f for f in room.get("/api/takes/TAKE/findings")["findings"]}
    assert {check: f["column"] for check, f in found.items()} == {
        "hold": "picture",
        "eyeline": "eyes",
        "breath": "body",
        "lipsync": "mouth",
        "contact": "body",
    }
    assert [c["id"] for c in found["lipsync"]["evidence"]] == ["evidence.wanted", "evidence.seen"]
    assert found["hold"]["evidence"] == []


def test_a_take_not_yet_measured_has_a_sheet_of_empty_rows(film: Path, tmp_path: Path) -> None:
    worker = MadeWorker(cache=tmp_path / "cache", known=False)
    with guest(film, tmp_path, worker=worker) as room:
        sheet = room.get("/api/takes/TAKE/sheet")
        assert (sheet["measured"], sheet["words"], len(sheet["edges_s"])) == (False, [], FRAMES + 1)
        assert room.get("/api/takes/TAKE/findings")["measured"] is False
        ended = _ended(room, room.post("/api/takes/TAKE/measure", None, 202))
        assert (ended["state"], ended["says"]) == ("done", f"{len(measured().findings)} findings")
        assert room.get("/api/takes/TAKE/sheet")["measured"] is True
        events = [e["type"] for e in room.get("/api/events")["events"]]
        assert "measured" in events
        assert "job" in events


def test_a_measurement_that_fails_says_why(film: Path, tmp_path: Path) -> None:
    worker = MadeWorker(cache=tmp_path / "cache", known=False, broken="the scene has no camera; name one in the cast")
    with guest(film, tmp_path, worker=worker) as room:
        ended = _ended(room, room.post("/api/takes/TAKE/measure", None, 202))
        assert (ended["state"], ended["says"]) == ("failed", worker.broken)


# Findings


def test_a_finding_is_taken_with_frames_and_numbers(room: Guest) -> None:
    found = _tray(room)
    note = room.post(f"/api/takes/TAKE/findings/{found['key']}/take", {"what": "She dies before the cut.", "weight": "must"})
    assert (note["first"], note["last"]) == (found["first"], found["last"])
    assert (note["what"], note["try"]) == ("She dies before the cut.", found["try"])
    assert note["numbers"] == found["numbers"]
    assert _tray(room)["state"] == "taken"
    assert _tray(room)["decision"]["note"] == note["id"]
    assert room.post("/api/undo", None, 200)["label"] == "take a finding"
    assert _tray(room)["state"] == "open"


def test_a_finding_is_dismissed_with_a_reason_and_brought_back(room: Guest) -> None:
    key = _tray(room)["key"]
    room.post(f"/api/takes/TAKE/findings/{key}/dismiss", {"reason": ""}, 422)
    room.post(f"/api/takes/TAKE/findings/{key}/dismiss", {"reason": "the hold is wanted"}, 200)
    assert (_tray(room)["state"], _tray(room)["decision"]["reason"]) == ("dismissed", "the hold is wanted")
    room.post(f"/api/takes/TAKE/findings/{key}/restore", None, 200)
    assert _tray(room)["state"] == "open"
    room.post("/api/takes/TAKE/findings/0000000000000000/dismiss", {"reason": "x"}, 404)


def test_a_finding_is_reworded_before_it_is_taken(room: Guest) -> None:
    key = _tray(room)["key"]
    room.post(f"/api/takes/TAKE/findings/{key}/edit", {"rewording": {"says": "She freezes.", "weight": "polish"}}, 200)
    found = _tray(room)
    assert (found["state"], found["says"], found["weight"]) == ("edited", "She freezes.", "polish")
    assert room.post(f"/api/takes/TAKE/findings/{key}/take", {})["what"] == "She freezes."


def test_a_dismissed_finding_stays_away_on_the_next_take(room: Guest, film: Path, tmp_path: Path) -> None:
    key = _tray(room)["key"]
    room.post(f"/api/takes/TAKE/findings/{key}/dismiss", {"reason": "wanted"}, 200)
    second = films.make_film(tmp_path / "take2.mp4", films.numbered(FRAMES, size=(96, 54), seed=3), sound=films.tone(11), gop=12)
    shot = room.get("/api/takes")[0]["shot"]
    take = room.post("/api/takes", {"path": str(second), "shot": shot, "label": "after notes"})
    assert (take["number"], take["first_frame"], take["shot"]) == (2, 1001, shot)
    tray = room.get(f"/api/takes/{take['id']}/findings")["findings"]
    assert {(f["check"], f["kind"]): f["state"] for f in tray}[TAIL] == "dismissed"


# Corrections


def _word(room: Guest, index: int) -> dict[str, Any]:
    w = room.get("/api/takes/TAKE/sheet")["words"][index]
    return {"text": w["text"], "who": w["who"], "start_s": w["start_s"], "end_s": w["end_s"]}


def _correct(room: Guest, *changes: dict[str, Any], status: int = 201) -> Any:
    return room.post("/api/takes/TAKE/corrections", {"changes": list(changes)}, status)


def test_a_word_is_dragged_again_and_again_and_taken_back(room: Guest) -> None:
    was = _word(room, 1)
    (fix,) = _correct(room, {"event": "word", "was": was, "now": {**was, "end_s": was["end_s"] + 0.02}})
    assert room.get("/api/takes/TAKE/sheet")["words"][1]["by_hand"] == fix["id"]
    (again,) = _correct(room, {"event": "word", "now": {**was, "text": "ye"}, "replaces": fix["id"]})
    assert (again["id"], again["now"]["text"], again["was"]) == (fix["id"], "ye", fix["was"])
    assert room.get("/api/takes/TAKE/sheet")["words"][1]["text"] == "ye"
    room.delete(f"/api/corrections/{fix['id']}")
    assert _word(room, 1) == was


def test_a_word_is_split_in_one_edit(room: Guest) -> None:
    was, before = _word(room, 5), len(room.get("/api/takes/TAKE/sheet")["words"])
    middle = (was["start_s"] + was["end_s"]) / 2
    _correct(
        room,
        {"event": "word", "was": was, "now": {**was, "text": "light", "end_s": middle}},
        {"event": "word", "was": None, "now": {**was, "text": "house", "start_s": middle}},
    )
    words = [w["text"] for w in room.get("/api/takes/TAKE/sheet")["words"]]
    assert (words[5:7], len(words)) == (["light", "house"], before + 1)
    room.post("/api/undo", None, 200)
    assert len(room.get("/api/takes/TAKE/sheet")["words"]) == before


def test_cuts_breaths_and_phones_are_corrected_too(room: Guest) -> None:
    sheet = room.get("/api/takes/TAKE/sheet")
    breath = {k: sheet["breaths"][0][k] for k in ("kind", "who", "start_s", "end_s")}
    phone = {k: sheet["phones"][0][k] for k in ("phone", "stress", "start_s", "end_s")}
    _correct(
        room,
        {"event": "cut", "was": {"frame": CUTS[0]}, "now": {"frame": CUTS[0] + 1}},
        {"event": "cut", "was": None, "now": {"frame": 200}},
        {"event": "breath", "was": breath, "now": None},
        {"event": "phone", "was": phone, "now": {**phone, "phone": "P"}},
    )
    after = room.get("/api/takes/TAKE/sheet")
    assert [c["frame"] for c in after["cuts"]] == [CUTS[0] + 1, CUTS[1], 200]
    assert len(after["breaths"]) == len(sheet["breaths"]) - 1
    assert after["phones"][0]["phone"] == "P"
    assert room.get("/api/takes/TAKE/findings")["measured"] is True


@pytest.mark.parametrize(
    "change",
    [
        {"event": "word", "was": None, "now": None},
        {"event": "word", "now": {"frame": 3}},
        {"event": "cut", "now": {"text": "x", "start_s": 0, "end_s": 1}},
        {"event": "word", "now": {"text": "x", "start_s": 2, "end_s": 1}},
    ],
)
def test_corrections_that_cannot_be_are_refused(room: Guest, change: dict[str, Any]) -> None:
    assert "not right" in _correct(room, change, status=422)["says"]


def test_a_phone_that_is_none_is_refused_with_the_ones_there_are(room: Guest) -> None:
    change = {"event": "phone", "now": {"phone": "not a phone", "start_s": 0, "end_s": 1}}
    assert "'not a phone' is no phone; use one of AA, AE" in _correct(room, change, status=422)["says"]


# Takes, lines, cast, media


def test_a_moved_movie_is_asked_for_and_found_again(film: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.mp4"
    shutil.copy(film, own)
    with guest(own, tmp_path, worker=MadeWorker(cache=tmp_path / "cache")) as room:
        assert room.get("/api/crit")["media"][0]["state"] == "here"
        (tmp_path / "moved").mkdir()
        moved = own.rename(tmp_path / "moved" / "renamed.mp4")
        media = room.get("/api/crit")["media"][0]
        assert media["state"] == "moved"
        assert "point the room to it" in media["says"]
        other = films.make_film(tmp_path / "other.mp4", films.numbered(5, size=(96, 54)))
        assert "not the movie of this take" in room.post("/api/takes/TAKE/find", {"path": str(other)}, 422)["says"]
        assert room.post("/api/takes/TAKE/find", {"path": str(moved)}, 200)["state"] == "here"
        assert room.post("/api/undo", None, 404)["says"] == "there is nothing to take back"
        shutil.copy(other, moved)
        assert room.get("/api/crit")["media"][0]["state"] == "changed"
        os.utime(moved)


def test_paths_outside_the_rooms_folders_are_refused_whatever_lies_there(room: Guest, tmp_path: Path) -> None:
    (tmp_path / "link.mp4").symlink_to("/etc/passwd")
    said = {
        room.post("/api/takes", {"path": path}, 422)["says"]
        for path in ("/etc/passwd", "/no/such/file", str(tmp_path / ".." / ".." / "x"), str(tmp_path / "link.mp4"), "~", "\0")
    }
    assert said == {"this room may not read there; put the movie into the crit's folder, or open it from the command line"}


def test_movies_beside_the_crit_are_offered(room: Guest, tmp_path: Path, film: Path) -> None:
    shutil.copy(film, tmp_path / "again.mp4")
    (tmp_path / "secret.txt").write_text("x")
    files = {f["name"]: f["take"] for f in room.get("/api/media")}
    assert files == {"again.mp4": None, film.name: room.take}


def test_lines_are_kept_and_aligned_at_once(room: Guest) -> None:
    take = room.get("/api/takes")[0]
    saved = room.put("/api/takes/TAKE/lines", {"version": take["version"], "text": "Oona: But you promised me."})
    assert saved["take"]["lines"] == "Oona: But you promised me."
    assert _ended(room, saved["job"])["state"] == "done"
    room.put("/api/takes/TAKE/lines", {"version": take["version"], "text": "older window", "align": False}, 409)
    assert "[" in room.put("/api/takes/TAKE/lines", {"version": saved["take"]["version"], "text": "Oona: [gonna|QQ]"}, 422)["says"]


def test_marks_of_the_cast_are_placed_one_by_one(room: Guest) -> None:
    take = room.get("/api/takes")[0]
    cast = {"characters": [{"name": "Oona"}, {"name": "Bram"}]}
    room.put("/api/takes/TAKE/cast", {"version": take["version"], "cast": cast})
    placed = [{"frame": 1021, "x": 0.41, "y": 0.38}]
    room.put("/api/takes/TAKE/cast/marks/Oona/mouth_left", {"was": [], "now": placed})
    room.put("/api/takes/TAKE/cast/marks/Bram/nose", {"was": [], "now": placed})
    refused = room.put("/api/takes/TAKE/cast/marks/Oona/mouth_left", {"was": [], "now": []}, 409)
    assert refused["current"]["cast"]["characters"][0]["marks"] == {"mouth_left": placed}
    assert "unknown mark" in room.put("/api/takes/TAKE/cast/marks/Oona/elbow", {"was": [], "now": placed}, 422)["says"]
    room.put("/api/takes/TAKE/cast/marks/Ada/nose", {"was": [], "now": placed}, 422)
    room.put("/api/takes/TAKE/cast/marks/Oona/mouth_left", {"was": placed, "now": []})
    assert room.get("/api/takes/TAKE/cast")["characters"][0]["marks"] == {}


def test_looks_are_said_in_the_room(room: Guest) -> None:
    take = room.get("/api/takes")[0]
    room.put("/api/takes/TAKE/cast", {"version": take["version"], "cast": {"characters": [{"name": "Oona"}, {"name": "Bram"}]}})
    look = {"who": "Oona", "at": "Bram", "first": 1001, "last": 1050}
    room.put("/api/takes/TAKE/cast/looks", {"was": [], "now": [look]})
    room.put("/api/takes/TAKE/cast/looks", {"was": [], "now": []}, 409)
    assert "not in the cast" in room.put("/api/takes/TAKE/cast/looks", {"was": [look], "now": [{**look, "at": "Ada"}]}, 422)["says"]


def test_the_overall_word_and_the_one_thing(room: Guest) -> None:
    note = room.post("/api/takes/TAKE/notes", {"first": 1, "last": 2, "what": "x"})
    take = room.get("/api/takes")[0]
    room.patch("/api/takes/TAKE", {"version": take["version"], "one_thing": "nowhere"}, 404)
    take = room.patch("/api/takes/TAKE", {"version": take["version"], "one_thing": note["id"], "overall": "Nearly there."})
    assert (take["one_thing"], take["overall"]) == (note["id"], "Nearly there.")
    room.delete(f"/api/notes/{note['id']}")
    assert room.get("/api/takes")[0]["one_thing"] is None


# Sending and answers


def test_what_was_taken_is_sent_as_a_zip_and_answers_come_back(room: Guest) -> None:
    note = room.post("/api/takes/TAKE/notes", {"first": 1, "last": 2, "what": "Lift the shoulders.", "weight": "must"})
    sent = _ended(room, room.post("/api/send", {"take": room.take}, 202))
    assert sent["state"] == "done", sent
    archive = zipfile.ZipFile(io.BytesIO(room.client.get(f"/api/jobs/{sent['id']}/files.zip").content))
    assert archive.read("notes.txt") == b"1-2 must: Lift the shoulders."
    assert archive.namelist() == ["notes.txt"], "the crit itself is for colleagues, who ask for it"
    answers = {"schema": "shotcrit.answers/1", "crit": room.room.crit.crit_id(), "take": room.take, "who": "Ada", "when": "today"}
    rows = [{"note": note["id"], "done": True, "text": "lifted"}, {"note": "gone", "done": False}]
    read = room.client.post("/api/answers", files={"file": json.dumps({**answers, "answers": rows})})
    assert read.status_code == 200
    assert read.json()["unknown"] == 1
    assert room.get("/api/takes/TAKE/notes")[0]["answer"] == {"done": True, "text": "lifted", "who": "Ada", "when": "today"}
    for wrong in ({**answers, "crit": "other", "answers": rows}, {**answers, "answers": 3}, {}):
        refused = room.client.post("/api/answers", files={"file": json.dumps(wrong)})
        assert refused.status_code == 422
        assert refused.json()["says"].count("\n") == 0
    assert room.client.post("/api/answers", files={"file": b"\xff\xfe\x00"}).status_code == 422


def test_sending_into_a_folder(room: Guest, tmp_path: Path) -> None:
    sent = _ended(room, room.post("/api/send", {"take": room.take, "kinds": ["crit"], "folder": str(tmp_path / "out")}, 202))
    assert sent["state"] == "done", sent
    assert os.listdir(tmp_path / "out") == ["lantern_040.crit"]
    assert "whole path" in room.post("/api/send", {"take": room.take, "folder": "out"}, 422)["says"]
    assert "no way of sending" in room.post("/api/send", {"take": room.take, "kinds": ["fax"]}, 422)["says"]


def test_findings_follow_the_reviewers_own_limits(film: Path, tmp_path: Path) -> None:
    with guest(film, tmp_path) as room:
        assert "no limit" in room.patch("/api/settings", {"limits": {"hold.no_such": 3}}, 422)["says"]
        before = _tray(room)
        limit = next(f"{check.ID}.{limit.name}" for check in all_checks() if check.ID == "hold" for limit in check.LIMITS)
        room.patch("/api/settings", {"limits": {limit: 1000}})
        after = room.get("/api/takes/TAKE/findings")["findings"]
        assert before["numbers"]["limit"] != 1000
        assert all(f["numbers"]["limit"] != before["numbers"]["limit"] or f["check"] != "hold" for f in after)
