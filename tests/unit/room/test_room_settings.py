"""Settings in the room: limits judge again at once, one by one, and undo works on them; frames counted from another number."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.make.rooms import Guest, guest

from shotcrit.checks.registry import all_checks
from shotcrit.crit.edits import Edit, update
from shotcrit.crit.limits import own_limits
from shotcrit.crit.records import Setting
from shotcrit.crit.recount import shifted
from shotcrit.readings.cast import Cast, Character, Contact, LookAt, Placed, Prop, SceneCamera

ENDS = "hold.ends"
CAST = Cast(
    characters=(Character(name="Oona", marks={"nose": (Placed(frame=1005, x=0.5, y=0.4), Placed(frame=1020, x=0.5, y=0.5))}),),
    props=(Prop(name="lantern", marks={"handle": (Placed(frame=1001, x=0.1, y=0.2),)}),),
    contacts=(Contact(a="Oona.nose", b="lantern.handle", first=1001, last=1010),),
    looks=(LookAt(who="Oona", at="camera"), LookAt(who="Oona", at="lantern", first=1003, last=1004)),
    cameras=(SceneCamera(node="CamA", first=1001, last=1264),),
)


@pytest.fixture
def room(film: Path, tmp_path: Path) -> Iterator[Guest]:
    with guest(film, tmp_path) as found:
        found.get("/api/takes/TAKE/findings")  # the measurement as it was judged when it was made
        yield found


def _limit(checks: list[dict[str, Any]], key: str) -> dict[str, Any]:
    return next(limit for check in checks for limit in check["limits"] if limit["key"] == key)


def _holds(room: Guest) -> list[dict[str, Any]]:
    return [f for f in room.get("/api/takes/TAKE/findings")["findings"] if f["check"] == "hold"]


def test_every_limit_of_every_check_is_shown_with_unit_and_basis(room: Guest) -> None:
    shown = room.get("/api/limits")
    assert {limit["key"] for check in shown for limit in check["limits"]} == {f"{c.ID}.{x.name}" for c in all_checks() for x in c.LIMITS}
    assert all(limit["unit"] and limit["basis"] and limit["help"] and limit["own"] is None for check in shown for limit in check["limits"])


def test_a_limit_judges_again_at_once_and_undo_takes_it_back(room: Guest) -> None:
    room.put(f"/api/limits/{ENDS}", {"value": 2})  # from here on the checks judge what was measured
    before = _holds(room)
    assert any(f["kind"] == "tail" and f["numbers"]["limit"] == 2 for f in before)
    shown = room.put(f"/api/limits/{ENDS}", {"value": 50})
    assert _limit(shown, ENDS)["own"] == 50
    assert not any(f["kind"] == "tail" for f in _holds(room))
    assert room.get("/api/crit")["undo"] == f"set the limit {ENDS}"
    room.post("/api/undo", status=200)
    assert _holds(room) == before


def test_two_limits_are_set_without_undoing_each_other(room: Guest) -> None:
    room.put(f"/api/limits/{ENDS}", {"value": 4})
    room.put("/api/limits/hold.inside", {"value": 9})
    assert room.get("/api/settings")["limits"] == {ENDS: 4, "hold.inside": 9}
    room.put(f"/api/limits/{ENDS}", {"value": None})
    assert room.get("/api/settings")["limits"] == {"hold.inside": 9}
    standard = _limit(room.get("/api/limits"), "hold.inside")["value"]
    room.put("/api/limits/hold.inside", {"value": standard})  # as it came is not a limit of one's own
    assert room.get("/api/settings")["limits"] == {}


@pytest.mark.parametrize(("key", "value", "says"), [("hold.no_such", 3, "no limit"), (ENDS, -1, "from 0 up"), (ENDS, 1e9, "from 0 up")])
def test_what_is_no_limit_is_refused(room: Guest, key: str, value: float, says: str) -> None:
    assert says in room.put(f"/api/limits/{key}", {"value": value}, 422)["says"]
    assert room.get("/api/settings")["limits"] == {}


def test_a_limit_that_no_check_here_knows_is_left_out(room: Guest) -> None:
    room.put(f"/api/limits/{ENDS}", {"value": 4})
    stored = room.room.crit

    def meddle(view: Any) -> Any:
        return Edit("written elsewhere", update(view.get(Setting, "limits"), {"value": {ENDS: 4, "gone.limit": 1, "hold.inside": "x"}}))

    stored.edit("somebody", meddle)
    with stored.view() as view:
        assert own_limits(view) == {ENDS: 4}
    assert room.get("/api/settings")["limits"] == {ENDS: 4}
    room.get("/api/takes/TAKE/findings")


def test_settings_are_steps_of_undo(room: Guest) -> None:
    room.patch("/api/settings", {"listen_ceiling_db": -20, "reviewer": "Ada"})
    room.post("/api/undo", status=200)
    found = room.get("/api/settings")
    assert (found["listen_ceiling_db"], found["reviewer"]) == (-12, "")


def test_frames_counted_from_another_number_take_the_cast_along(room: Guest) -> None:
    take = room.get("/api/takes")[0]
    take = room.put("/api/takes/TAKE/cast", {"version": take["version"], "cast": CAST.model_dump(mode="json")})
    changed = room.patch("/api/takes/TAKE", {"version": take["version"], "first_frame": 1})
    assert Cast.model_validate(changed["cast"]) == shifted(CAST, -1000)
    assert changed["cast"]["characters"][0]["marks"]["nose"][0]["frame"] == 5
    assert changed["cast"]["looks"][0]["first"] is None
    assert changed["cast"]["looks"][1]["last"] == 4
    assert changed["cast"]["contacts"][0]["first"] == changed["cast"]["cameras"][0]["first"] == 1
    assert room.get("/api/takes/TAKE/sheet")["first_frame"] == room.get("/api/takes/TAKE/frames")["first_frame"] == 1
    room.post("/api/undo", status=200)
    assert Cast.model_validate(room.get("/api/takes")[0]["cast"]) == CAST


def test_findings_speak_of_frames_as_they_are_counted_now(room: Guest) -> None:
    def told() -> tuple[int, str]:
        found = room.get("/api/takes/TAKE/findings")["findings"]
        return next((f["first"], f["says"]) for f in found if f["kind"] == "missing" and f["first"] == 62)

    take = room.get("/api/takes")[0]
    assert told() == (62, "We hear Oona breathe in at 1063; we don't see it.")
    room.patch("/api/takes/TAKE", {"version": take["version"], "first_frame": 1})
    assert told() == (62, "We hear Oona breathe in at 63; we don't see it.")


def test_a_held_drawing_is_a_tool_once_the_take_is_said_to_be_drawn(room: Guest) -> None:
    take = room.get("/api/takes")[0]
    room.put(f"/api/limits/{ENDS}", {"value": 2})
    assert any(f["kind"] == "tail" for f in _holds(room))
    room.patch("/api/takes/TAKE", {"version": take["version"], "medium": "drawn"})
    assert not any(f["kind"] == "tail" for f in _holds(room))


def test_only_the_frames_that_count_are_judged_and_that_is_said(room: Guest) -> None:
    room.put(f"/api/limits/{ENDS}", {"value": 2})
    take = room.get("/api/takes")[0]
    last = take["frames"] - 1
    take = room.patch("/api/takes/TAKE", {"version": take["version"], "counts": {"first": 8, "last": last - 10}})
    assert not any(f["kind"] == "tail" for f in _holds(room))
    said = room.get("/api/takes/TAKE/findings")["assumed"]
    assert f"Only 1009 to {1001 + last - 10} count; what lies outside is shown and not judged." in said
    take = room.patch("/api/takes/TAKE", {"version": take["version"], "counts": {"first": 0, "last": last}})
    assert take["counts"] is None
    assert any(f["kind"] == "tail" for f in _holds(room))
    room.patch("/api/takes/TAKE", {"version": take["version"], "counts": {"first": last + 1, "last": last + 2}}, status=422)


def test_a_cast_counted_from_one_is_moved_with_one_press(room: Guest) -> None:
    take = room.get("/api/takes")[0]
    from_one = shifted(CAST, -1000)
    take = room.put("/api/takes/TAKE/cast", {"version": take["version"], "cast": from_one.model_dump(mode="json")})
    assert room.get("/api/takes/TAKE/findings")["cast_counted_from"] == 1
    moved = room.post("/api/takes/TAKE/cast/recount", {"version": take["version"], "counted_from": 1}, 200)
    assert Cast.model_validate(moved["cast"]) == CAST
    assert room.get("/api/takes/TAKE/findings")["cast_counted_from"] is None
    assert room.post("/api/undo", status=200)["label"] == "count the cast as the take"


def test_lines_may_be_a_textgrid_and_what_is_none_is_refused(room: Guest) -> None:
    grid = (
        'File type = "ooTextFile"\nObject class = "TextGrid"\n\nxmin = 0\nxmax = 3\ntiers? <exists>\nsize = 1\nitem []:\n'
        '    item [1]:\n        class = "IntervalTier"\n        name = "Oona - words"\n        xmin = 0\n        xmax = 3\n'
        '        intervals: size = 1\n        intervals [1]:\n            xmin = 0.5\n            xmax = 0.9\n            text = "lantern"\n'
    )
    take = room.get("/api/takes")[0]
    room.put("/api/takes/TAKE/lines", {"version": take["version"], "text": grid.replace("words", "sighs"), "align": False}, 422)
    saved = room.put("/api/takes/TAKE/lines", {"version": take["version"], "text": grid, "align": False})
    assert saved["take"]["lines"] == grid


def test_a_phone_that_is_none_is_refused_also_when_a_correction_is_changed(room: Guest) -> None:
    value = {"phone": "QQ", "stress": None, "start_s": 0.1, "end_s": 0.2}
    body = {"changes": [{"event": "phone", "was": None, "now": value}]}
    assert "is no phone" in room.post("/api/takes/TAKE/corrections", body, 422)["says"]
    body["changes"][0]["now"] = {**value, "phone": "AA"}
    (fix,) = room.post("/api/takes/TAKE/corrections", body)
    again = {"changes": [{"event": "phone", "was": None, "now": value, "replaces": fix["id"]}]}
    assert "is no phone" in room.post("/api/takes/TAKE/corrections", again, 422)["says"]
    again["changes"][0]["now"] = {**value, "phone": "AA", "end_s": 0.05}
    assert "ends after it starts" in room.post("/api/takes/TAKE/corrections", again, 422)["says"]


def test_two_windows_change_two_keys_and_both_stand(room: Guest) -> None:
    room.patch("/api/settings", {"keys": {"run": "x"}})
    assert room.patch("/api/settings", {"keys": {"undo": "y"}})["keys"] == {"run": "x", "undo": "y"}
    assert room.patch("/api/settings", {"keys": {"run": None}})["keys"] == {"undo": "y"}
    assert room.patch("/api/settings", {"keys": {}})["keys"] == {"undo": "y"}
    assert room.patch("/api/settings", {"keys": {"undo": None}})["keys"] == {}
    room.post("/api/undo", status=200)
    assert room.get("/api/settings")["keys"] == {"undo": "y"}
    assert room.patch("/api/settings", {"keys": None})["keys"] == {}
    room.patch("/api/settings", {"keys": {"run": 4}}, 422)
