"""Flashes at and around the published limits (WCAG 2.2, 2.3.1; the same numbers in ITU-R BT.1702): more than three in a second, over a quarter of the
picture, by a tenth of the greatest luminance, the darker state under 0.80."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from tests.make.picture_rows import judged, read_pictures

from shotcrit.checks import flash
from shotcrit.clock import FrameClock

RATE = 24


def code(luminance: float) -> int:
    """The 8-bit sRGB grey of a relative luminance (IEC 61966-2-1)."""
    shown = 12.92 * luminance if luminance <= 0.0031308 else 1.055 * luminance ** (1 / 2.4) - 0.055
    return round(255 * shown)


def blinking(
    changes: int, *, low: tuple[int, int, int], high: tuple[int, int, int], area: float = 1.0, frames: int = 24
) -> list[np.ndarray]:
    """One second: `changes` evenly spread changes between two colours over the left part of the picture, then rest."""
    at = [1 + k * frames // changes for k in range(changes)]
    out = []
    for i in range(2 * frames):
        picture = np.full((90, 160, 3), low, np.uint8)
        if sum(i >= change for change in at) % 2:
            picture[:, : round(160 * area)] = high
        out.append(picture)
    return out


def grey(luminance: float) -> tuple[int, int, int]:
    return (code(luminance),) * 3


def flashes(pictures: list[np.ndarray], kind: str = "general") -> list[float]:
    return [f.value for f in judged(flash, read_pictures(pictures, Fraction(RATE))) if f.kind == kind]


@pytest.mark.parametrize(("changes", "found"), [(2, []), (5, []), (6, []), (7, [3.5]), (8, [4.0]), (12, [6.0])])
def test_more_than_three_flashes_in_a_second_are_too_many(changes: int, found: list[float]) -> None:
    assert flashes(blinking(changes, low=grey(0.1), high=grey(0.9))) == found


@pytest.mark.parametrize(
    ("low", "high", "counts"), [(0.30, 0.38, False), (0.30, 0.42, True), (0.85, 1.0, False), (0.75, 0.9, True), (0.0, 0.12, True)]
)
def test_only_a_tenth_of_the_range_from_a_dark_enough_state_is_a_flash(low: float, high: float, counts: bool) -> None:
    assert bool(flashes(blinking(10, low=grey(low), high=grey(high)))) is counts


@pytest.mark.parametrize(("area", "counts"), [(0.18, False), (0.32, True)])
def test_only_a_quarter_of_the_picture_counts(area: float, counts: bool) -> None:
    assert bool(flashes(blinking(10, low=grey(0.1), high=grey(0.9), area=area))) is counts


def test_saturated_red_counts_though_its_luminance_hardly_changes() -> None:
    dark_red, dark_blue = (140, 0, 0), (0, 0, 140)
    film = blinking(10, low=dark_blue, high=dark_red)
    assert flashes(film, "general") == []
    assert flashes(film, "red") == [5.0]
    assert flashes(blinking(6, low=dark_blue, high=dark_red), "red") == []
    assert flashes(blinking(10, low=(90, 60, 60), high=(140, 60, 60)), "red") == [], "a dull red is none"


def test_a_slow_swell_is_one_change_and_rest_is_none() -> None:
    swell = [np.full((90, 160, 3), code(0.05 + 0.8 * i / 47), np.uint8) for i in range(48)]
    assert flashes(swell) == []
    assert flashes([np.full((90, 160, 3), 90, np.uint8)] * 30) == []


def test_a_second_is_a_second_at_any_rate() -> None:
    turns = list(range(0, 60, 10))
    at_24, at_60 = (flash.busiest_second(turns, FrameClock.steady(Fraction(rate), 80)) for rate in (24, 60))
    assert at_24 == [0, 10, 20]
    assert at_60 == turns
    assert flash.busiest_second([], FrameClock.steady(Fraction(24), 10)) is None


def test_the_finding_defers_to_accredited_tests() -> None:
    found = judged(flash, read_pictures(blinking(10, low=grey(0), high=grey(1)), Fraction(RATE)))
    assert "no certified test" in found[0].says
    assert "accredited" in found[0].says
    assert found[0].limit == 3
    assert found[0].span.start == 0


@pytest.mark.parametrize(("seventh", "inside"), [(22, 7), (23, 7), (24, 6), (25, 6)])
def test_a_second_ends_where_the_next_begins(seventh: int, inside: int) -> None:
    """Six changes from frame 0 on, and a seventh: exactly one second later, on frame 24, it belongs to the next second."""
    found = flash.busiest_second([0, 3, 6, 9, 12, 15, seventh], FrameClock.steady(Fraction(RATE), 48))
    assert found is not None
    assert len(found) == inside
