"""The check against shots with known blinks, on both sides of each limit."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

import shotcrit_blink_rate as check
from shotcrit.plugin import Acting, Blink, Cast, Character, FrameClock, MovieInfo, Readings, about, limits_for

LIMITS = limits_for(check, {})


def shot(seconds: int, blinks: int) -> Readings:
    """Ada's eyes seen for so long, blinking so often."""
    frames = 24 * seconds
    info = MovieInfo(
        path=Path("ada.mov"), name="ada.mov", sha256="0" * 64, frames=frames, rate=Fraction(24), variable_rate=False, width=1280, height=720,
        first_frame=1, duration_s=Fraction(seconds), sound=None,
    )  # fmt: skip
    ada = Acting("Ada", 2, lids={"left": np.ones(frames, np.float32)})
    at = np.linspace(0, frames - 10, blinks).astype(int)
    return Readings(
        info, FrameClock.steady(Fraction(24), frames), cast=Cast(characters=(Character(name="Ada"),)), acting=(ada,),
        blinks=tuple(Blink("Ada", int(i), int(i) + 2, int(i) + 5) for i in at),
    )  # fmt: skip


@pytest.mark.parametrize(("blinks", "kinds"), [(0, ["seldom"]), (1, ["seldom"]), (2, []), (26, []), (81, []), (82, ["often"])])
def test_a_minute_and_a_quarter_is_held_against_both_limits(blinks, kinds):
    found = check.run(shot(75, blinks), LIMITS).findings
    assert [finding.kind for finding in found] == kinds, [finding.says for finding in found]


def test_a_short_shot_without_a_blink_is_no_stare():
    assert check.run(shot(10, 0), LIMITS).findings == ()


def test_it_asks_for_lids():
    unseen = replace(shot(10, 0), acting=())
    assert [(missing.who, missing.needs) for missing in check.run(unseen, LIMITS).not_measured] == [
        ("Ada", "marks on the upper and lower lids, or a scene with lids")
    ]


def test_the_door_takes_it():
    assert about(check).id == "blink_rate"
