"""Cuts, and what is none: flashes, changes of light, whip pans, dissolves."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from tests.make.picture_rows import read_pictures, through_film
from tests.make.posed import Frame, Pose, acting, drawn, painted

SIZE = (640, 360)


def shot(seed: int, frames: int) -> list[Frame]:
    return list(painted(acting(frames), SIZE, seed))


def cuts(pictures: list[Frame]) -> tuple[int, ...]:
    found = read_pictures(pictures).picture
    assert found is not None
    return found.cuts


def test_two_cuts_are_found_on_their_frame(tmp_path) -> None:  # type: ignore[no-untyped-def]
    film = shot(1, 14) + list(drawn(acting(12), SIZE)) + shot(7, 14)
    assert cuts(film) == (14, 26)
    coded = through_film(tmp_path, film, crf=30).picture
    assert coded is not None
    assert coded.cuts == (14, 26)


@pytest.mark.parametrize("length", [1, 2])
def test_a_flash_of_white_is_no_cut(length: int) -> None:
    film = shot(1, 24)
    for i in range(10, 10 + length):
        film[i] = np.clip(film[i].astype(np.int16) + 150, 0, 255).astype(np.uint8)
    assert cuts(film) == ()


def test_a_light_switched_on_is_no_cut() -> None:
    film = [(f * 0.3).astype(np.uint8) if i < 10 else f for i, f in enumerate(drawn(acting(20), SIZE))]
    assert cuts(film) == ()


def test_a_whip_pan_is_no_cut() -> None:
    places = np.cumsum([0] * 6 + [4, 12, 25, 30, 30, 25, 12, 4] + [0] * 6)
    assert cuts(list(painted([Pose(camera=(float(x), 0)) for x in places], SIZE))) == ()


def test_a_dissolve_is_no_cut() -> None:
    a, b = shot(1, 30), shot(9, 30)
    share = np.clip((np.arange(30) - 8) / 14, 0, 1)
    film = [((1 - s) * x + s * y).astype(np.uint8) for s, x, y in zip(share, a, b, strict=True)]
    assert cuts(film) == ()


def zoomed(picture: Frame, frames: int, every: int, times: float) -> list[Frame]:
    """A zoom that moves in steps: `times` as large on every `every`th frame."""
    middle = (SIZE[0] / 2, SIZE[1] / 2)
    grown = (cv2.getRotationMatrix2D(middle, 0, times ** (i // every)) for i in range(frames))
    return [np.asarray(cv2.warpAffine(picture, how, SIZE, flags=cv2.INTER_AREA), np.uint8) for how in grown]


@pytest.mark.parametrize("painter", [painted, drawn])
@pytest.mark.parametrize(("every", "times", "way"), [(3, 1.15, 1), (4, 1.3, 1), (4, 1.3, -1)])
def test_the_jumps_of_a_zoom_in_steps_are_no_cuts(painter, every: int, times: float, way: int) -> None:  # type: ignore[no-untyped-def]
    """way : in, or out"""
    picture = next(painter([Pose()], SIZE))
    assert cuts(zoomed(picture, 6 * every, every, times)[::way]) == ()


def test_a_cut_beside_a_zoom_in_steps_stays_one() -> None:
    zoom = zoomed(next(painted([Pose()], SIZE)), 16, 4, 1.3)
    assert cuts(zoom + list(drawn(acting(14), SIZE)) + shot(7, 14)) == (16, 30)


def test_three_quick_cuts_into_other_pictures_are_three() -> None:
    assert cuts(shot(1, 12) + shot(5, 8) + shot(7, 8) + shot(9, 12)) == (12, 20, 28)
