"""Cuts, and what is none: flashes, changes of light, whip pans, dissolves."""

from __future__ import annotations

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
