"""pull: what moves behind a speaker, and all that belongs there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.films import texture
from tests.make.limit_cases.pictures import drawing_away
from tests.make.picture_rows import read_pictures

from shotcrit.checks import pull
from shotcrit.checks.registry import limits_for
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import Readings

LIMITS = limits_for(pull, {})


def told(readings: Readings):
    return pull.run(readings, LIMITS).findings


def test_what_moves_behind_a_speaker_is_a_question_with_its_place_drawn():
    (finding,) = told(drawing_away(8.0))
    assert finding.says == "While Ada speaks, what moves at the upper right of the picture draws the eye away over 20 to 82."
    assert finding.suggest.startswith("Is the eye meant to go there?")
    assert (finding.weight, finding.value) == ("polish", pytest.approx(8.0, abs=0.1))
    (left, top), _, (_, bottom), *_ = finding.strokes[0].points
    assert left < 12.5 / 16 < left + 3 / 16
    assert top < 1.5 / 9 < bottom


def test_what_moves_is_not_told_where_it_does_not_stand_out():
    readings = drawing_away(8.0)
    dull = readings.picture.pull.looks.copy()
    dull[:, 1, 12] = 0.0
    assert told(replace(readings, picture=replace(readings.picture, pull=replace(readings.picture.pull, looks=dull)))) == ()


@pytest.mark.parametrize("who", ["Bram", "lamp"])
def test_what_is_somebodys_draws_nobody_away(who):
    readings = drawing_away(8.0)
    place = np.tile(np.float32([12.5 / 16, 1.5 / 9]), (len(readings.clock), 1))
    theirs = Acting(who, 2, {"nose": MarkTrack(who, "nose", place, np.zeros(len(place), np.float32))})
    assert told(replace(readings, acting=(*readings.acting, theirs))) == ()


def test_a_speaker_who_is_not_in_the_picture_is_named():
    readings = drawing_away(8.0)
    (missing,) = pull.run(replace(readings, acting=()), LIMITS).not_measured
    assert (missing.who, missing.needs) == ("Ada", "Ada in the picture, with marks or a face that is known")


def test_without_names_of_who_speaks_nothing_is_told():
    readings = drawing_away(8.0)
    unnamed = replace(readings.sound, words=tuple(replace(word, who=None) for word in readings.sound.words))
    (missing,) = pull.run(replace(readings, sound=unnamed), LIMITS).not_measured
    assert missing.needs == "lines that say who speaks"


@pytest.mark.parametrize(("crosses", "count"), [(True, 1), (False, 0)])
def test_a_thing_that_crosses_pictures_is_read_in_them(crosses, count):
    """A patch that goes to and fro in the upper right, over a set with texture everywhere; the speaker stands at the left."""
    given = drawing_away(8.0)
    ground = (texture(640, 360, seed=4) // 3 + 60).astype(np.uint8)
    thing = texture(80, 80, seed=9, softness=2.0)
    pictures = []
    for frame in range(72):
        picture = ground.copy()
        x = 440 + round(50 * np.sin(frame / 3)) if crosses else 440
        picture[20:100, x : x + 80] = thing
        pictures.append(picture)
    seen = read_pictures(pictures)
    marks = {"nose": MarkTrack("Ada", "nose", np.tile(np.float32([0.25, 0.5]), (72, 1)), np.zeros(72, np.float32))}
    findings = told(replace(seen, sound=given.sound, cast=given.cast, acting=(Acting("Ada", 2, marks),)))
    assert len(findings) == count
    assert all("at the upper right" in finding.says for finding in findings)
