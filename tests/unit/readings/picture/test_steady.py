"""A head that turns far from its reference frame is followed against further keys, there and back, and is the same head when it comes back."""

from __future__ import annotations

from functools import cache

import numpy as np
from tests.make.heads3d import Heads, Pose, render
from tests.make.played import Played, placed_cast

from shotcrit.readings.acting import Acting
from shotcrit.readings.picture.acting import measure_marks

SIZE = (320, 280)
LENGTH = 29
FARTHEST = 48.0


def yaws() -> np.ndarray:
    """There and back, eased, degrees."""
    return FARTHEST * (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(LENGTH) / (LENGTH - 1)))


@cache
def turned() -> tuple[Heads, Acting]:
    film = render([Pose((yaw, 0, 0), (0, 0, 2)) for yaw in yaws()], SIZE)
    acting, _, _ = measure_marks(Played(film.frames), placed_cast(film, 0, [0]), ())
    return film, acting[0]


def test_a_far_turn_is_followed_on_every_frame() -> None:
    _, acting = turned()
    assert acting.head is not None
    assert np.isfinite(acting.head.height_px).all()
    seen = np.degrees(np.arctan2(-acting.head.direction[:, 0], -acting.head.direction[:, 2]))
    assert np.abs(seen - yaws()).max() < 0.2 * FARTHEST, "a key cut on the way knows depths by guess only"
    assert abs(seen[-1]) < 1.0, "back where it started, and no drift"
