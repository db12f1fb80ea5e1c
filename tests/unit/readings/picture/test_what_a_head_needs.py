"""What a head that cannot be read asks for: nobody is asked for marks that are there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.two_hander import Fault, at_level_2, two_hander

from shotcrit.checks.eyeline import check as eyeline
from shotcrit.checks.registry import limits_for
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.cast import Cast
from shotcrit.readings.picture.head.acting import FOLLOWS_EYES, FOLLOWS_FACE, NEEDS_EYES, NEEDS_FACE, head_acting, needs_eyes, needs_face

EYES = ("eye_left", "eye_left_edge", "eye_right", "eye_right_edge")


def _tracks(*marks: str) -> dict[str, MarkTrack]:
    lost = np.full((9, 2), np.nan, np.float32)
    return {mark: MarkTrack("Ada", mark, lost, lost[:, 0], (4,)) for mark in marks}


@pytest.mark.parametrize(
    ("marks", "asks"),
    [
        ((), NEEDS_FACE),
        (("nose", "chin"), NEEDS_FACE),
        (("nose", "chest", "hips", "hand_left"), NEEDS_FACE),
        (("nose", "chin", "eye_left"), FOLLOWS_FACE),
    ],
)
def test_a_face_that_is_marked_is_not_asked_for_again(marks: tuple[str, ...], asks: str) -> None:
    assert head_acting("Ada", [], _tracks(*marks), None, 9).lacks == {"mouth": asks, "eyes": asks}


def test_marks_of_a_face_count_on_one_frame_only() -> None:
    assert needs_face({"nose": {1}, "chin": {5}, "eye_left": {9}}) == NEEDS_FACE
    assert needs_face({"nose": {1, 9}, "chin": {5, 9}, "eye_left": {9}}) == FOLLOWS_FACE


def test_eyes_that_are_marked_are_not_asked_for_again() -> None:
    assert needs_eyes({mark: {4} for mark in EYES}) == FOLLOWS_EYES
    assert needs_eyes({mark: {4} for mark in EYES[:3]}) == NEEDS_EYES


@pytest.mark.parametrize(
    ("marks", "asks"), [(EYES, FOLLOWS_FACE), (EYES[:1], "marks for both eyes (centre, edge, iris), or a scene with eye nodes")]
)
def test_the_eyeline_check_says_what_reading_the_marks_lacks(marks: tuple[str, ...], asks: str) -> None:
    readings = at_level_2(two_hander(1, Fault())[0], 1)
    person = {"name": "Ada", "marks": {mark: [{"frame": 1, "x": 0.5, "y": 0.5}] for mark in marks}}
    cast = Cast.model_validate({"characters": [person, {"name": "Ben"}], "looks": [{"who": "Ada", "at": "Ben"}]})
    blind = Acting("Ada", 2, _tracks(*marks), lacks={"mouth": FOLLOWS_FACE, "eyes": FOLLOWS_FACE})
    result = eyeline.run(replace(readings, cast=cast, acting=(blind,)), limits_for(eyeline, {}))
    assert [(m.who, m.needs) for m in result.not_measured] == [("Ada", asks)]
