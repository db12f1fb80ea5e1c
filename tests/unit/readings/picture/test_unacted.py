"""Black, fades, dissolves and cards are stretches of their own, and acting is none of them."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import pytest
from tests.make.picture_rows import judged, read_pictures
from tests.make.posed import Frame, Pose, acting, drawn, painted

from shotcrit.checks.hold import check as hold
from shotcrit.readings.bundle import PictureReadings

SIZE = (640, 360)
BLACK = np.zeros((360, 640, 3), np.uint8)


def read(pictures: Sequence[Frame]) -> PictureReadings:
    found = read_pictures(pictures).picture
    assert found is not None
    return found


def lit(pictures: Sequence[Frame], shares: Sequence[float]) -> list[Frame]:
    return [(picture * share).astype(np.uint8) for picture, share in zip(pictures, shares, strict=True)]


def title(words: str = "The Lantern") -> Frame:
    picture = BLACK.copy()
    cv2.putText(picture, words, (180, 190), cv2.FONT_HERSHEY_SIMPLEX, 1.4, (230, 230, 230), 3, cv2.LINE_AA)
    return picture


def ramp(frames: int, first: float, last: float) -> list[float]:
    return [float(v) for v in np.linspace(first, last, frames)]


@pytest.mark.parametrize("painter", [painted, drawn])
def test_a_shot_from_black_and_back_to_black(painter) -> None:  # type: ignore[no-untyped-def]
    shot = list(painter(acting(60, pan=1), SIZE))
    film = [BLACK] * 8 + lit(shot, [*ramp(16, 0.0, 1.0), *[1.0] * 28, *ramp(16, 1.0, 0.0)]) + [BLACK] * 8
    found = read(film)
    assert [(s.start <= 1, s.stop >= len(film) - 1) for s in found.black] == [(True, False), (False, True)]
    assert [fade.kind for fade in found.fades] == ["in", "out"]
    first, last = found.fades
    assert abs(first.span.last - 23) <= 4
    assert abs(last.span.start - 52) <= 4
    assert found.cuts == ()
    assert judged(hold, read_pictures(film)) == ()


def test_a_dissolve_is_one_and_no_cut() -> None:
    a, b = list(painted(acting(48), SIZE, 1)), list(drawn(acting(48), SIZE))
    share = np.clip((np.arange(48) - 15) / 16, 0, 1)
    found = read([((1 - s) * x + s * y).astype(np.uint8) for s, x, y in zip(share, a, b, strict=True)])
    assert [fade.kind for fade in found.fades] == ["dissolve"]
    assert abs(found.fades[0].span.start - 15) <= 3
    assert abs(found.fades[0].span.last - 31) <= 3
    assert found.cuts == ()


def test_a_freeze_under_a_fade_is_no_dead_acting() -> None:
    shot = list(painted(acting(40), SIZE))
    film = shot + lit([shot[-1]] * 16, ramp(16, 1.0, 0.0)) + [BLACK] * 6
    assert judged(hold, read_pictures(film)) == ()


def test_a_title_is_a_card_and_its_stillness_no_fault() -> None:
    film = [BLACK] * 6 + [title()] * 30 + [title("by Bram")] * 30 + [BLACK] * 12
    found = read(film)
    assert [(card.start, card.last) for card in found.cards] == [(6, 35), (36, 65)]
    assert judged(hold, read_pictures(film)) == ()


def test_a_shot_that_never_moves_is_told_and_left_to_the_reviewer() -> None:
    """A set with somebody in it is no card: half of it is not of one luma."""
    still = next(painted([Pose()], SIZE))
    film = list(drawn(acting(20), SIZE)) + [still] * 20
    (told,) = judged(hold, read_pictures(film))
    assert (told.kind, told.weight, told.span.start, told.span.last) == ("tail", "polish", 21, 39)
    assert told.says == "Nothing moves in this shot."


@pytest.mark.parametrize("pan", [0.0, 1.0, 2.5, 6.0])
@pytest.mark.parametrize("painter", [painted, drawn])
def test_acting_and_pans_are_none_of_it(painter, pan: float) -> None:  # type: ignore[no-untyped-def]
    found = read(list(painter(acting(60, pan=pan), SIZE)))
    assert (found.black, found.fades, found.cards) == ((), (), ())
    assert found.acted.all()


def test_a_figure_that_stops_on_a_plain_ground_is_still_dead() -> None:
    """Flat ground alone is no card: the figure moved before."""
    ground = np.full((360, 640, 3), 180, np.uint8)

    def at(x: int) -> Frame:
        picture = ground.copy()
        cv2.circle(picture, (x, 180), 60, (90, 60, 40), -1, cv2.LINE_AA)
        cv2.circle(picture, (x + 20, 160), 9, (240, 240, 240), -1, cv2.LINE_AA)
        return picture

    film = [at(150 + 5 * min(i, 30)) for i in range(38)]
    (told,) = judged(hold, read_pictures(film))
    assert (told.kind, told.weight, told.span.start) == ("tail", "must", 31)
