"""teeth: open mouths that show nothing are told, with what that rests on; mouths that can be read, and those that nothing tells, are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.found_heads import HELD_APART, Now, Shown, picture
from tests.make.limit_cases.colours import FRAMES, coloured, shown

from shotcrit.checks import teeth
from shotcrit.checks.registry import limits_for
from shotcrit.readings.cast import Cast, Character
from shotcrit.readings.picture.faces.found import find_faces
from shotcrit.readings.picture.faces.reader import FaceReader

LIMITS = limits_for(teeth, {})
SIZE = (256, 192)


def told(*faces):
    return teeth.run(shown(*faces), LIMITS).findings


def test_mouths_that_can_be_read_are_left_alone():
    assert told(coloured(1, "Ada"), coloured(2, "Ben", inside=60.0, x=0.7)) == ()


def test_a_mouth_that_shows_nothing_is_told_and_rests_on_whose_face_it_is():
    found = replace(coloured(1, "Ada", inside=2.0), said=False)
    (dark,) = told(found, coloured(2, "Ben", x=0.7))
    assert (dark.kind, dark.who, dark.weight, dark.level) == ("inside", "Ada", "polish", 1.5)
    assert dark.value == pytest.approx(2.0, abs=0.05)
    assert dark.says.startswith("Ada's open mouth shows neither teeth nor tongue: its brightest part is only 1.0")
    assert dark.says.endswith("times as light as its darkest, 1 to 48, if the face that was found there is Ada's.")
    assert dark.confidence <= 0.6


def test_teeth_that_show_now_and_then_are_shown_and_few_frames_tell_nothing():
    now_and_then, few = coloured(1, "Ada", inside=1.0), coloured(1, "Ada", inside=1.0)
    assert now_and_then.colours is not None
    assert few.colours is not None
    now_and_then.colours[: FRAMES // 2] = coloured(1, "Ada").colours[: FRAMES // 2]  # type: ignore[index]
    assert told(now_and_then) == ()
    few.colours[teeth.FEWEST - 1 :] = np.nan
    assert told(few) == ()


def test_a_shut_mouth_shows_nothing_inside_and_that_is_right():
    dark = coloured(1, "Ada", inside=1.0)
    assert [f.kind for f in told(dark)] == ["inside"]
    shut = replace(dark, mouth=replace(dark.mouth, opening=np.zeros(FRAMES, np.float32)))
    assert told(shut) == ()


def test_two_are_held_against_each_other_only_while_both_are_seen():
    less, more = coloured(1, "Ada", inside=12.0), coloured(2, "Ben", inside=60.0, x=0.7)
    (beside,) = told(less, more)
    assert (beside.kind, beside.who, beside.value) == ("beside", "Ada", pytest.approx(5.0, abs=0.1))
    later = replace(more, span=replace(more.span, start=FRAMES, stop=2 * FRAMES))
    assert told(less, later) == ()


def test_who_has_no_face_is_named_and_drawings_are_left_alone():
    cast = Cast(characters=(Character(name="Ada"), Character(name="Ben")))
    seen = replace(shown(coloured(1, "Ada", inside=1.0)), cast=cast)
    assert [missing.who for missing in teeth.run(seen, LIMITS).not_measured] == ["Ben"]
    assert [missing.who for missing in teeth.run(shown(), LIMITS).not_measured] == [None]
    assert teeth.run(replace(seen, medium="drawn"), LIMITS).findings == ()


@pytest.mark.usefixtures("weights")
@pytest.mark.parametrize("design", HELD_APART, ids=lambda design: design.name)
def test_a_head_without_teeth_is_told_from_the_same_one_with_them(design):
    assert [finding.kind for finding in told(_rendered(replace(design, teeth=False)))] == ["inside"]
    assert told(_rendered(design)) == ()


def _rendered(design):
    reader = FaceReader()
    poses = [Now(size=130, x=128, y=70, turn=(4.0 * i - 14, 0, 0), opening=0.3 + 0.02 * i) for i in range(8)]
    rows = np.stack([reader.feed(Shown(i, picture([(design, now)], SIZE, seed=i))) for i, now in enumerate(poses)])  # type: ignore[arg-type]
    return replace(find_faces(rows, (), SIZE)[0], who="Ada", said=True)
