"""Faces that were found, in the room: drafts until they are confirmed, whose they are said and swapped in one edit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.make.found_faces import clock, face, listening
from tests.make.rooms import Guest, guest, lantern_film

from shotcrit.crit.recount import counted_otherwise, shifted
from shotcrit.readings.cast import Cast, Character, FaceOf, Placed
from shotcrit.readings.picture.faces.named import faces_said, name_faces
from shotcrit.readings.picture.faces.proposed import proposed_marks
from shotcrit.room.cast import following
from shotcrit.room.cast.changes import renamed, with_confirmed, with_faces, without_part
from shotcrit.room.sheet.build import sheet_face

MOUTH = {"mouth_left": [Placed(frame=5, x=0.4, y=0.5), Placed(frame=9, x=0.41, y=0.5)], "lip_upper": [Placed(frame=9, x=0.38, y=0.48)]}
OONA = FaceOf(who="Oona", frame=5, x=0.4, y=0.4)


def test_a_confirmed_face_adds_its_character_and_leaves_what_a_person_placed():
    cast = with_confirmed(Cast(), "Oona", MOUTH)
    assert [c.name for c in cast.characters] == ["Oona"]
    assert [p.frame for p in cast.characters[0].marks["mouth_left"]] == [5, 9]
    by_hand = Placed(frame=5, x=0.7, y=0.7)
    own = Cast(characters=(Character(name="Oona", marks={"mouth_left": (by_hand,)}), Character(name="Bram")))
    both = with_confirmed(own, "Oona", MOUTH)
    assert both.characters[0].marks["mouth_left"] == (by_hand, Placed(frame=9, x=0.41, y=0.5))
    assert both.characters[1] == own.characters[1]


def test_what_is_said_of_a_face_goes_with_its_character_and_its_frames():
    cast = with_faces(Cast(characters=(Character(name="Oona"),)), [OONA])
    assert with_faces(cast, [OONA.model_copy(update={"who": "Bram"})]).faces == (OONA.model_copy(update={"who": "Bram"}),)
    assert renamed(cast, "Oona", "Mira").faces[0].who == "Mira"
    assert without_part(cast, "Oona").faces == ()
    assert shifted(cast, 1000).faces[0].frame == 1005
    assert counted_otherwise(shifted(cast, 1000), first_frame=1, frames=24) == 1001


def test_a_word_on_a_face_is_about_the_nearest_one_and_nobodys_is_nobodys():
    rng = np.random.default_rng(1)
    faces = (face(1, listening(60, rng), x=0.3), face(2, listening(60, rng), x=0.7, hue=2.0))
    said = faces_said(faces, [(10, 0.68, 0.42, "Oona"), (10, 0.31, 0.4, None), (10, 0.5, 0.95, "Bram"), (80, 0.3, 0.4, "Bram")])
    assert [(f.who, f.said) for f in said] == [(None, True), ("Oona", True)]
    assert [f.who for f in name_faces(said, None, clock(4))] == [None, "Oona"]


def test_a_face_on_the_sheet_says_where_it_is_and_what_it_proposes():
    rng = np.random.default_rng(1)
    one = face(3, listening(40, rng), start=12, x=0.3)
    shown = sheet_face(one)
    assert (shown.id, shown.first, shown.last, shown.at, shown.point, shown.who) == (3, 12, 51, 12, (0.3, 0.4), None)
    assert [(p.frame, p.shape) for p in shown.proposed] == [(12, "shut")]
    assert shown.proposed[0].marks["mouth_left"] == pytest.approx((0.32, 0.45))
    one.points["mouth_left"][:] = np.nan
    assert set(proposed_marks(one)[0].marks) == {"mouth_right"}


def test_lips_that_meet_are_proposed_at_one_place_and_open_ones_are_not():
    one = face(1, np.array([0.5, 0.01, 0.3]))
    for name, y in (("lip_upper", 0.48), ("lip_lower", 0.52)):
        one.points[name] = np.tile(np.array([0.5, y], np.float32), (3, 1))  # type: ignore[index]
    one.worth.update(shut=1, open=0)  # type: ignore[attr-defined]
    opened, shut = proposed_marks(one)
    assert (opened.shape, opened.marks["lip_upper"], opened.marks["lip_lower"]) == (
        "open",
        pytest.approx((0.5, 0.48)),
        pytest.approx((0.5, 0.52)),
    )
    assert shut.marks["lip_upper"] == shut.marks["lip_lower"] == pytest.approx((0.5, 0.5))


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setattr(following, "SETTLE_S", 0.05)
    with guest(lantern_film(tmp_path), tmp_path) as one:
        yield one


def test_confirming_and_swapping_are_an_edit_each_and_undone_whole(room: Guest) -> None:
    said = {"who": "Oona", "frame": 1003, "x": 0.4, "y": 0.4}
    marks = {"mouth_left": [{"frame": 1003, "x": 0.42, "y": 0.5}], "mouth_right": [{"frame": 1003, "x": 0.38, "y": 0.5}]}
    room.post("/api/takes/TAKE/cast/faces/confirmed", {"face": said, "marks": marks}, 200)
    cast = room.get("/api/takes/TAKE/cast")
    assert [(c["name"], sorted(c["marks"])) for c in cast["characters"]] == [("Oona", ["mouth_left", "mouth_right"])]
    assert cast["faces"] == [said]
    swapped = [{**said, "who": "Bram"}, {"who": "Oona", "frame": 1003, "x": 0.7, "y": 0.4}]
    room.put("/api/takes/TAKE/cast/faces", {"faces": swapped})
    assert room.get("/api/takes/TAKE/cast")["faces"] == swapped
    room.post("/api/takes/TAKE/cast/faces/confirmed", {"face": {**said, "who": None}, "marks": marks}, 422)
    room.post("/api/undo", {}, 200)
    assert room.get("/api/takes/TAKE/cast")["faces"] == [said]
    room.post("/api/undo", {}, 200)
    assert room.get("/api/takes/TAKE/cast") == {**cast, "characters": [], "faces": []}
