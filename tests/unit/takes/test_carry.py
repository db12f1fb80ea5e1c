from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from tests.make.moving import noise_texture
from tests.make.two_takes import a_map

from shotcrit.clock import Numbering
from shotcrit.readings.cast import Cast, Character, Contact, LookAt, Placed
from shotcrit.readings.seen import Box
from shotcrit.takes.carry import CarriedMark, carry_cast, found_again, still_doubtful
from shotcrit.takes.frame_map import FrameMap
from shotcrit.takes.remarks import cast_remarks
from shotcrit.takes.seen import Sight, framed_box, framing_in_parts

WIDE, HIGH = 640, 360
WORLD = np.clip(noise_texture(900, grain=2.0, seed=3), 0, 255).astype(np.float32)


def _shown(dx: float = 0.0, dy: float = 0.0, zoom: float = 1.0) -> np.ndarray:
    """The world with its middle moved by so many px, enlarged about the picture's middle."""
    map_ = np.array([[zoom, 0, (1 - zoom) * WIDE / 2 - zoom * 100 + dx], [0, zoom, (1 - zoom) * HIGH / 2 - zoom * 100 + dy]])
    return cv2.warpAffine(WORLD, map_, (WIDE, HIGH), flags=cv2.INTER_CUBIC).astype(np.uint8)


@pytest.mark.parametrize(("dx", "dy"), [(0, 0), (3.4, -2.7), (14.25, 9.5), (-20, 6)])
def test_a_point_is_found_again_to_parts_of_a_pixel(dx: float, dy: float) -> None:
    x, y, likeness, sure = found_again(_shown(), _shown(dx, dy), (0.4, 0.55), a_map(np.arange(2), 2))
    assert sure
    assert likeness > 0.85
    assert abs((x - 0.4) * WIDE - dx) < 0.3
    assert abs((y - 0.55) * HIGH - dy) < 0.3


def test_another_framing_is_followed() -> None:
    zoom = 1.1
    old_of_new = np.array([[1 / zoom, 0, (1 - 1 / zoom) * 31.5], [0, 1 / zoom, (1 - 1 / zoom) * 17.5]], np.float32)
    curve = np.array([0.0, 255.0], np.float32)
    mapped = replace(a_map(np.arange(2), 2), sight=Sight(old_of_new, np.ones((36, 64), np.bool_), curve, curve, 1.0))
    x, y, _, sure = found_again(_shown(), _shown(zoom=zoom), (0.3, 0.6), mapped)
    assert sure
    assert abs(x - (0.5 + zoom * (0.3 - 0.5))) * WIDE < 1
    assert abs(y - (0.5 + zoom * (0.6 - 0.5))) * HIGH < 1


def test_a_framing_in_parts_goes_the_same_way_as_one_in_squares() -> None:
    """Half the size, moved by 8 squares of 64 and 9 of 36, worked by hand: the new middle is (0.5 + 8/64 - 0.25, ...) of the old, plus half a square."""
    sight = Sight(
        np.array([[0.5, 0, 8], [0, 0.5, 9]], np.float32), np.ones((36, 64), np.bool_), *(np.array([0.0, 255.0], np.float32),) * 2, 1.0
    )
    assert framing_in_parts(sight) == pytest.approx((0.5, 0, 8.25 / 64, 0, 0.5, 9.25 / 36))
    box = framed_box(sight, Box(8.25 / 64, 9.25 / 36, 0.5 + 8.25 / 64, 0.5 + 9.25 / 36))
    assert (box.left, box.top, box.right, box.bottom) == pytest.approx((0, 0, 1, 1), abs=1e-6)


def test_what_is_seen_twice_or_not_at_all_is_never_sure() -> None:
    old = _shown()
    twins = _shown()
    twins[150:250, 220:320] = old[150:250, 240:340]  # the patch about (290, 200) stands at 270 too
    twins[180:220, 285:305] = old[180:220, 285:305]
    assert not found_again(old, np.full_like(old, 90), (0.45, 0.55), a_map(np.arange(2), 2))[3]
    assert not found_again(np.full_like(old, 90), old, (0.45, 0.55), a_map(np.arange(2), 2))[3]
    assert not found_again(old, _shown(120, 0), (0.45, 0.55), a_map(np.arange(2), 2))[3]


def _map() -> FrameMap:
    """Old frames 0 to 9; 5 to 7 are gone, and three are put in before."""
    return a_map(np.array([-1, -1, -1, 0, 1, 2, 3, 4, 8, 9]), 10)


def test_a_cast_goes_to_its_new_frames_and_leaves_out_what_is_unsure() -> None:
    nose = (Placed(frame=1002, x=0.4, y=0.5), Placed(frame=1006, x=0.4, y=0.5))
    cast = Cast(
        characters=(Character(name="Oona", marks={"nose": nose, "chin": (Placed(frame=1003, x=0.95, y=0.02),)}),),
        contacts=(Contact(a="Oona.nose", b="Oona.chin", first=1002, last=1010),),
        looks=(LookAt(who="Oona", at="camera"), LookAt(who="Oona", at="camera", first=1006, last=1008)),
    )
    flat = _shown()
    flat[:40, 560:] = 90
    carried = carry_cast(cast, _map(), 1001, 1, lambda _at: flat, lambda _at: flat)
    assert carried.cast.characters[0].marks["nose"][0].frame == 5
    assert "chin" not in carried.cast.characters[0].marks
    assert {(m.mark, m.old.frame, m.new is None) for m in carried.unsure} == {("nose", 1006, True), ("chin", 1003, False)}
    assert [(c.first, c.last) for c in carried.cast.contacts] == [(5, 10)]
    assert [(look.first, look.last) for look in carried.cast.looks] == [(None, None)]


def test_doubtful_marks_are_told_by_name_with_their_frames() -> None:
    cast = Cast(
        characters=(
            Character(name="Oona", marks={"nose": (Placed(frame=1002, x=0.4, y=0.5),), "chin": (Placed(frame=1002, x=0.95, y=0.02),)}),
        )
    )
    flat = _shown()
    flat[:40, 560:] = 90
    carried = carry_cast(cast, _map(), 1001, 1, lambda _at: flat, lambda _at: flat)
    assert cast_remarks(carried, Numbering(1)) == (
        "1 mark of the old take's 2 is found again by its looks.",
        "To be placed or confirmed on the new take: Oona's chin at 5.",
    )


def test_what_hangs_on_a_mark_is_doubtful_until_a_person_places_it() -> None:
    lip, chin = Placed(frame=1002, x=0.4, y=0.5), Placed(frame=1003, x=0.5, y=0.6)
    unsure = (CarriedMark("Oona", "lip_upper", lip, lip, 0.5, False), CarriedMark("Oona", "chin", chin, None, 0.0, False))

    def doubted(**marks: tuple[Placed, ...]) -> frozenset[tuple[str, str]]:
        return still_doubtful(unsure, Cast(characters=(Character(name="Oona", marks=marks),)))

    elsewhere = Placed(frame=1009, x=0.4, y=0.5)
    assert doubted() == {("Oona", "mouth"), ("Oona", "body")}
    assert doubted(lip_upper=(elsewhere,), chin=(elsewhere,)) == {("Oona", "mouth")}, "a mouth is learnt from each frame that was placed"
    assert doubted(lip_upper=(lip,), chin=(elsewhere,)) == frozenset()
