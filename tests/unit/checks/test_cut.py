"""Shots too short to read, and a centre of interest that jumps."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from tests.make.picture_rows import judged, with_picture

from shotcrit.checks.cut import check as cut
from shotcrit.readings.bundle import Readings


def centred(cuts: tuple[int, ...], places: list[float], rate: Fraction = Fraction(24)) -> Readings:
    centre = np.zeros((60, 2), np.float32) + 0.5
    for (first, stop), x in zip(zip((0, *cuts), (*cuts, 60), strict=True), places, strict=True):
        centre[first:stop, 0] = x
    return with_picture(60, rate=rate, cuts=cuts, centre=centre)


@pytest.mark.parametrize(("rate", "length", "short"), [(24, 5, True), (24, 6, False), (48, 11, True), (48, 12, False)])
def test_a_shot_needs_a_quarter_of_a_second_to_be_read(rate: int, length: int, short: bool) -> None:
    readings = centred((20, 20 + length), [0.5, 0.5, 0.5], Fraction(rate))
    found = [f for f in judged(cut, readings) if f.kind == "short"]
    assert bool(found) is short
    assert all((f.span.start, f.value) == (20, length) for f in found)


@pytest.mark.parametrize(("before", "after", "jumps"), [(0.2, 0.8, True), (0.4, 0.6, False), (0.8, 0.2, True)])
def test_a_jump_of_the_centre_of_interest_is_told_at_its_cut(before: float, after: float, jumps: bool) -> None:
    found = [f for f in judged(cut, centred((30,), [before, after])) if f.kind == "jump"]
    assert bool(found) is jumps
    for finding in found:
        assert finding.span.start == 30
        assert finding.value == pytest.approx(0.6, abs=0.01)
        assert len(finding.strokes[0].points) == 2


def test_a_film_of_one_shot_is_asked_nothing() -> None:
    assert judged(cut, centred((), [0.5])) == ()
