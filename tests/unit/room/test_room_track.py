"""The track reading goes out of the room as a TextGrid."""

from __future__ import annotations

from pathlib import Path

from tests.make.rooms import Guest, guest
from tests.make.worker import MadeWorker

from shotcrit.readings.sound.textgrid import parse_textgrid


def test_the_track_goes_out_as_a_textgrid_as_it_was_mended(room: Guest) -> None:
    word = room.get("/api/takes/TAKE/sheet")["words"][0]
    was = {field: word[field] for field in ("text", "who", "start_s", "end_s")}
    room.post("/api/takes/TAKE/corrections", {"changes": [{"event": "word", "was": was, "now": was | {"text": "Hush"}}]})
    answer = room.client.get(f"/api/takes/{room.take}/track.TextGrid")
    assert answer.headers["content-disposition"] == "attachment; filename*=UTF-8''take-1.TextGrid"
    track = parse_textgrid(answer.text)
    shown = room.get("/api/takes/TAKE/sheet")
    assert [(w.text, w.who) for w in track.spoken.words] == [(w["text"], w["who"]) for w in shown["words"]]
    assert track.spoken.words[0].text == "Hush"
    assert [p.phone for p in track.spoken.phones] == [p["phone"] for p in shown["phones"]]
    assert [b.kind for b in track.breaths] == [b["kind"] for b in shown["breaths"]]


def test_a_take_that_was_not_measured_has_no_track_yet(film: Path, tmp_path: Path) -> None:
    with guest(film, tmp_path, worker=MadeWorker(cache=tmp_path / "cache", known=False)) as room:
        assert room.client.get(f"/api/takes/{room.take}/track.TextGrid").status_code == 404
