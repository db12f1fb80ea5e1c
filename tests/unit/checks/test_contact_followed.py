"""Slides measured from pictures, with marks that were followed and not given: within 0.3 px, and two pixels over the last two frames before a cut are found."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache

import numpy as np
import pytest
from tests.make.carried import FRAMES, SIZE, carried
from tests.make.two_hander import movie_info

from shotcrit.checks.contact import check as contact
from shotcrit.checks.registry import limits_for
from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import PictureReadings, Readings, Series
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.picture.marks.follow import follow_marks

CUT = FRAMES - 4
SEEDS = (1, 2, 3, 4)


@cache
def readings(seed: int, slide_px: float, turn: float) -> Readings:
    """Both marks placed on the first frame only; the prop slides over the last two frames before the cut."""
    slide = np.zeros((FRAMES, 2))
    slide[CUT - 2 : CUT, 0] = slide_px / 2, slide_px
    frames, truth = carried(seed, slide, turn=turn)
    hand, handle = ([{"frame": 1, "x": x, "y": y}] for x, y in ((truth[:, 0] + 0.5) / SIZE).tolist())
    cast = parse_cast(
        {"characters": [{"name": "Ada", "marks": {"hand_right": hand}}], "props": [{"name": "kite", "marks": {"handle": handle}}],
         "contacts": [{"a": "Ada.hand_right", "b": "kite.handle", "first": 1, "last": FRAMES}]}, name="c",
    )  # fmt: skip
    tracks = follow_marks(enumerate(frames), cast, (CUT,), SIZE)
    acting = tuple(Acting(t.who, 2, {t.mark: t}) for t in tracks)
    picture = PictureReadings(np.zeros(FRAMES, bool), Series("movement", "px", np.ones(FRAMES, np.float32)), (CUT,), 0.5)
    info = replace(movie_info(FRAMES), width=SIZE[0], height=SIZE[1])
    return Readings(movie=info, clock=FrameClock.steady(Fraction(24), FRAMES), cast=cast, picture=picture, acting=acting)


def found(seed: int, slide_px: float, turn: float):
    return contact.run(readings(seed, slide_px, turn), limits_for(contact, {})).findings


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("turn", [0.0, 0.1])
def test_a_hand_that_holds_gives_nothing(seed: int, turn: float) -> None:
    assert found(seed, 0.0, turn) == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_two_pixels_over_the_last_two_frames_before_a_cut_are_found_within_a_third_of_a_pixel(seed: int) -> None:
    (finding,) = found(seed, 2.0, 0.0)
    assert finding.kind == "before_cut"
    assert finding.span.stop == CUT
    assert finding.value == pytest.approx(2.0, abs=0.3)
    assert finding.level == 2


def test_larger_slides_in_a_hand_that_turns_are_found() -> None:
    hits = [f for seed in SEEDS for f in found(seed, 4.0, 0.1) if f.kind == "before_cut" and f.span.stop == CUT]
    assert len(hits) == len(SEEDS)
    assert np.median([abs(f.value - 4.0) for f in hits]) < 0.5
