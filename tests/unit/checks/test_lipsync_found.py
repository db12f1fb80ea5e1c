"""lipsync on faces that were found: judged with no mark, at a level of its own, and never beyond what such a mouth can tell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from tests.make.found_faces import clock, face, listening, said, speaking
from tests.make.two_hander import movie_info

from shotcrit.checks.lipsync import check
from shotcrit.checks.registry import limits_for
from shotcrit.clock import Span
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Cast, Character
from shotcrit.readings.faces import FoundFace, Unread
from shotcrit.readings.picture.faces.acting import LEVEL, acting_of_faces
from shotcrit.readings.picture.faces.named import NOBODY, name_faces

SECONDS, FRAMES = 5.0, 120
LIMITS = limits_for(check, {})  # type: ignore[arg-type]


def of_faces(*faces: FoundFace, who: str | None = "Oona", seed: int = 2) -> Readings:
    sound = said([(who, 0.3, 4.2)], np.random.default_rng(seed))
    named = name_faces(faces, sound, clock(SECONDS))
    return Readings(movie_info(FRAMES), clock(SECONDS), sound=sound, faces=named, acting=acting_of_faces(named, FRAMES))


def spoken(late: float = 0.0, *, who: str | None = "Oona", seed: int = 2) -> np.ndarray:
    sound = said([(who, 0.3, 4.2)], np.random.default_rng(seed))
    return speaking(sound, who, FRAMES, np.random.default_rng(9), late=late, noise=0.3)


def test_a_late_mouth_is_told_with_no_mark_and_says_what_that_rests_on():
    result = check.run(of_faces(face(1, spoken(3.5))), LIMITS)
    offset = next(f for f in result.findings if f.kind == "offset")
    assert abs(offset.value - 3.5) < 0.5
    assert (offset.level, offset.weight, offset.who) == (1.5, "polish", "Oona")
    assert offset.confidence <= 0.6
    assert offset.says.endswith(", if the face that was found there is Oona's.")
    assert {f.kind for f in result.findings} <= {"offset", "closure", "dead_mouth", "flutter"}
    assert not any("mouth's four marks" in missing.needs for missing in result.not_measured)


def test_a_mouth_in_time_is_told_of_by_nothing_like_an_offset():
    assert not [f for f in check.run(of_faces(face(1, spoken())), LIMITS).findings if f.kind in ("offset", "dead_mouth")]


def test_the_only_face_of_the_only_speaker_that_never_moves_is_a_dead_mouth():
    still = np.full(FRAMES, 0.02)
    dead = check.run(of_faces(face(1, still)), LIMITS).findings
    assert [(f.kind, f.who, f.weight) for f in dead] == [("dead_mouth", "Oona", "polish")]
    listener = of_faces(face(1, still, x=0.2), face(2, still, x=0.8, hue=2.0))
    told = check.run(listener, LIMITS)
    assert told.findings == ()
    both = "the face screen left in 1 to 120 and the face screen right in 1 to 120"
    asked = f"to be told whose faces these are: {both}; no line fits surely, so nobody is judged by them"
    assert asked in [missing.needs for missing in told.not_measured]


def test_lines_without_names_judge_a_face_without_one():
    late = check.run(of_faces(face(1, spoken(3.5, who=None)), who=None), LIMITS).findings
    assert {f.who for f in late} == {NOBODY}
    assert any(f.kind == "offset" and f.says.startswith("A face's mouth comes") for f in late)


def test_what_was_refused_is_told_by_name_with_its_frames():
    lost = replace(
        face(1, spoken()),
        unread=(Unread(Span(100, 110), "in profile"), Unread(Span(112, 118), "in profile"), Unread(Span(60, 70), "covered")),
    )
    told = [m.needs for m in check.run(of_faces(lost), LIMITS).not_measured if m.who == "Oona"]
    assert told == [
        "marks placed by hand where Oona is in profile, 101 to 110 and 113 to 118",
        "marks placed by hand where Oona is covered, 61 to 70",
    ]


def test_who_speaks_without_a_face_is_named_with_the_frames_of_the_line():
    sound = said([("Oona", 0.2, 2.2), ("Bram", 2.8, 4.4)], np.random.default_rng(2))
    one = replace(face(1, speaking(sound, "Oona", FRAMES, np.random.default_rng(9), noise=0.3)[:60]), who="Oona", sure=0.95)
    readings = Readings(movie_info(FRAMES), clock(SECONDS), sound=sound, faces=(one,), acting=acting_of_faces((one,), FRAMES))

    def named(known: Readings) -> dict[str | None, str]:
        return {m.who: m.needs for m in check.run(known, LIMITS).not_measured if "no face was found" in m.needs}

    assert list(named(readings)) == ["Bram"]
    assert named(readings)["Bram"].startswith("marks placed by hand where Bram speaks and no face was found to be theirs, 6")
    unnamed = replace(one, id=2, span=Span(60, 120), who=None)
    assert named(replace(readings, faces=(one, unnamed))) == {}, "a face that may be theirs is asked about instead"
    lost = replace(one, id=2, span=Span(60, 120), who="Bram", unread=(Unread(Span(60, 120), "in profile"),))
    assert named(replace(readings, faces=(one, lost))) == {}, "a face in profile is told as such"
    assert named(replace(readings, cast=Cast(characters=(Character(name="Bram"),)))) == {}, "who is in the cast is asked for marks"
    assert named(replace(readings, faces=())) == {}


def test_a_mouth_that_marks_tell_goes_before_one_that_was_found():
    found = of_faces(face(1, spoken(3.5)))
    mouth = acting_of_faces(found.faces, FRAMES)[0].mouth
    assert mouth is not None
    marked = Acting("Oona", 2, mouth=replace(mouth, opening=spoken().astype(np.float32)))
    both = replace(found, acting=(*found.acting, marked))
    assert both.with_mouth("Oona") is marked
    assert {f.level for f in check.run(both, LIMITS).findings} <= {2}
    assert acting_of_faces(found.faces, FRAMES)[0].level == LEVEL == 1.5


def test_a_found_face_has_no_eyes_and_no_marks_that_anything_could_judge():
    acting = of_faces(face(1, spoken()), face(2, listening(FRAMES, np.random.default_rng(1)), hue=2.0)).acting
    assert [(a.who, dict(a.gaze), dict(a.lids), dict(a.marks), a.head) for a in acting] == [("Oona", {}, {}, {}, None)]
