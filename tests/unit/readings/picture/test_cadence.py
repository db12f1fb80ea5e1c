"""Rhythms of repeats, from their definition: frame k shows source picture floor(k * source / rate)."""

from __future__ import annotations

import itertools
from fractions import Fraction

import numpy as np
import pytest

from shotcrit.clock import Span
from shotcrit.readings.picture.stillness.cadence import Seen, expected_repeats, read_cadence

RATES = [(24, 25), (24, 30), (25, 30), (24, 60), (30, 60), (24, 48), (25, 50), (24, 50), (25, 60)]


def rhythm(source: int, rate: int, frames: int) -> np.ndarray:
    shown = [k * source // rate for k in range(frames)]
    return np.array([False] + [a == b for a, b in itertools.pairwise(shown)])


def read(repeats: np.ndarray, rate: Fraction, movement: float = 3.0):  # type: ignore[no-untyped-def]
    moved = np.where(repeats, 0, movement).astype(np.float32)
    return paced(moved, rate, repeats=repeats)


def paced(moved: np.ndarray, rate: Fraction = Fraction(24), *, repeats: np.ndarray | None = None, change: np.ndarray | None = None):  # type: ignore[no-untyped-def]
    """One shot in which somebody acts on every frame. change : of the pixels; as the movement says where not said"""
    n = len(moved)
    still = np.zeros(n, np.bool_) if repeats is None else repeats
    return read_cadence(Seen(still, moved, moved if change is None else change, np.ones(n, np.bool_), [Span(0, n)]), rate)


@pytest.mark.parametrize(("source", "rate"), RATES)
def test_conversions_by_repeats_are_named(source: int, rate: int) -> None:
    found = read(rhythm(source, rate, 150), Fraction(rate))
    assert (found.kind, found.source) == ("conversion", source)
    assert found.rhythm.tolist() == rhythm(source, rate, 150).tolist()
    assert found.doubled == ()
    assert found.dropped == ()


def test_the_ntsc_relatives_are_named_by_their_own_rates() -> None:
    found = read(rhythm(24, 30, 100), Fraction(30000, 1001))
    assert found.source == Fraction(24000, 1001)
    assert "23.976 to 29.97" in found.name


@pytest.mark.parametrize(("step", "name"), [(1, "on ones"), (2, "on twos"), (3, "on threes")])
def test_ones_twos_threes(step: int, name: str) -> None:
    repeats = np.arange(48) % step != 0
    found = read(repeats, Fraction(24))
    assert (found.kind, found.name) == ("step", name)


def test_published_vectors_of_repeats() -> None:
    """24 to 30: 0,0,1,2,3,4,4 .. by some phase a repeat every fifth; 24 to 25 one in 25; twos 0,0,1,1,2,2."""
    assert np.flatnonzero(expected_repeats(51, Fraction(24, 25), 0)).tolist() == [1, 26]
    assert np.diff(np.flatnonzero(expected_repeats(40, Fraction(4, 5), 0))).tolist() == [5] * 7
    assert expected_repeats(6, Fraction(1, 2), 0).tolist() == [False, True, False, True, False, True]
    runs_60 = np.diff(np.flatnonzero(~expected_repeats(41, Fraction(2, 5), 0)))
    assert set(runs_60.tolist()) == {2, 3}
    assert all(a != b for a, b in itertools.pairwise(runs_60))


def test_holds_do_not_hide_a_conversion_and_are_not_part_of_it() -> None:
    shown = np.minimum(np.arange(150) * 24 // 25, 130)
    repeats = np.concatenate([[False], np.diff(shown) == 0])
    found = read(repeats, Fraction(25))
    assert found.source == 24
    assert not found.rhythm[137:].any()


def test_random_repeats_are_no_rhythm() -> None:
    rng = np.random.default_rng(4)
    for _ in range(20):
        repeats = rng.random(100) < 0.15
        repeats[0] = False
        assert read(repeats, Fraction(24)).kind == "step"
        assert read(repeats, Fraction(24)).period == 1


def test_one_doubled_and_one_dropped_frame() -> None:
    repeats = np.zeros(60, np.bool_)
    repeats[30] = True
    assert read(repeats, Fraction(24)).doubled == (30,)
    moved = np.full(60, 3.0, np.float32)
    moved[20] = 6.2
    assert paced(moved, Fraction(24)).dropped == (20,)


def test_a_fast_accent_is_no_dropped_frame() -> None:
    moved = np.full(60, 3.0, np.float32)
    moved[19:23] = 5, 9, 7, 4
    assert paced(moved, Fraction(24)).dropped == ()


def swing(doubled: int | None = None) -> tuple[np.ndarray, np.ndarray]:
    """A swing there and back (a sine, turning at frame 24), its steps as read; with a frame shown twice, if asked. Repeats and movement."""
    shown = np.arange(48) - (0 if doubled is None else (np.arange(48) >= doubled))
    moved = np.abs(np.diff(120 * np.sin(np.pi * (shown + 0.5) / 48), prepend=0)).astype(np.float32)
    moved[0] = moved[1]
    repeats = moved < 0.4
    return repeats, np.where(repeats, 0.1, moved).astype(np.float32)


def test_the_still_moment_of_a_turn_is_no_doubled_frame() -> None:
    repeats, moved = swing()
    assert np.flatnonzero(repeats).tolist() == [24]
    assert paced(moved, Fraction(24), repeats=repeats).doubled == ()


@pytest.mark.parametrize("at", [8, 14, 36])
def test_a_doubled_frame_of_the_same_swing_is_told(at: int) -> None:
    repeats, moved = swing(at)
    assert at in paced(moved, Fraction(24), repeats=repeats).doubled


@pytest.mark.parametrize(("source", "rate"), [(25, 24), (30, 24), (30, 25)])
def test_conversions_by_leaving_out_are_one_conversion(source: int, rate: int) -> None:
    moved = np.diff(np.arange(121) * source // rate, prepend=-1).astype(np.float32) * 3
    found = paced(moved, Fraction(rate))
    assert (found.kind, found.source, found.dropped) == ("conversion", source, ())
    assert found.name == f"{source} to {rate} frames per second by leaving out"


def test_dropped_frames_without_a_beat_stay_dropped_frames() -> None:
    moved = np.full(121, 3, np.float32)
    moved[[20, 37, 71, 90]] = 6
    found = paced(moved, Fraction(24))
    assert (found.kind, found.dropped) == ("step", (20, 37, 71, 90))


def test_two_frames_dropped_at_once_count_as_two() -> None:
    moved = np.full(60, 3, np.float32)
    moved[30] = 9
    assert paced(moved, Fraction(24)).dropped == (30, 30)


def test_a_part_of_a_shot_on_twos_is_no_row_of_doubled_frames() -> None:
    repeats = np.zeros(96, np.bool_)
    repeats[1:48:2] = True
    repeats[70] = True
    found = read(repeats, Fraction(24))
    assert found.doubled == (70,)


@pytest.mark.parametrize(("share", "told"), [(0.2, True), (0.5, False)])
def test_a_frame_is_doubled_only_where_the_pixels_say_so_too(share: float, told: bool) -> None:
    """A slow moment in a swaying shot was called doubled: its pixels changed by half of what they changed on either side."""
    moved = np.full(60, 3, np.float32)
    repeats = np.arange(60) == 30
    change = np.full(60, 2, np.float32)
    change[30] *= share
    assert paced(np.where(repeats, 0, moved).astype(np.float32), repeats=repeats, change=change).doubled == ((30,) if told else ())


@pytest.mark.parametrize(("times", "told"), [(1.8, True), (1.2, False)])
def test_a_frame_is_missing_only_where_the_pixels_say_so_too(times: float, told: bool) -> None:
    """All eight dropped frames that were told of strangers' clips were false: something small went faster, the picture did not."""
    moved, change = np.full(60, 3, np.float32), np.full(60, 2, np.float32)
    moved[30], change[30] = 6, 2 * times
    assert paced(moved, change=change).dropped == ((30,) if told else ())


def test_nothing_is_told_beside_a_fade() -> None:
    repeats = np.arange(60) == 30
    moved = np.where(repeats, 0, 3).astype(np.float32)
    acted = np.arange(60) < 31
    assert read_cadence(Seen(repeats, moved, moved, acted, [Span(0, 60)]), Fraction(24)).doubled == ()


def test_gaps_that_alternate_are_one_conversion() -> None:
    """24 to 30 by gaps of 5, 4 and 6, as some converters make them; a repeat in eight is hidden by noise."""
    at = np.cumsum([5, 4, 6] * 12)
    change = np.full(at[-1] + 4, 2, np.float32)
    change[np.delete(at, slice(3, None, 8))] = 0.05
    found = paced(np.full(len(change), 3, np.float32), Fraction(30), repeats=change < 1, change=change)
    assert (found.kind, found.name, found.doubled) == ("conversion", "24 to 30 frames per second by repeats", ())


@pytest.mark.parametrize("source", [16, 17, 18, 20])
def test_a_conversion_from_a_rate_that_nobody_would_guess_is_told_about(source: int) -> None:
    """Silent film was shot at 16 to 24 (common practice, no source)."""
    found = read(rhythm(source, 25, 150), Fraction(25))
    assert (found.kind, found.name) == ("conversion", f"about {source} to 25 frames per second by repeats")
    assert found.doubled == ()


def test_repeats_without_a_beat_are_none() -> None:
    rng = np.random.default_rng(7)
    for _ in range(40):
        change = np.where(rng.random(200) < 0.15, 0.05, 2).astype(np.float32)
        assert paced(np.full(200, 3, np.float32), Fraction(30), repeats=change < 1, change=change).kind == "step"


def test_a_missing_picture_moves_nowhere_and_breaks_nothing() -> None:
    moved = np.full(60, 3, np.float32)
    moved[30] = np.nan
    assert paced(moved).dropped == ()
    moved[[29, 31]] = np.nan
    assert paced(moved).doubled == ()


def test_slow_work_in_even_steps_is_no_row_of_holds() -> None:
    """A countdown that steps about seven times a second, at 30: each picture stands for four frames or five."""
    new = np.isin(np.arange(180), np.floor(np.arange(1, 43) * 25 / 6).astype(int))
    new[0] = True
    moved = np.where(new, 3, 0).astype(np.float32)
    found = paced(moved, Fraction(30), repeats=~new)
    assert (found.kind, found.name, found.doubled) == ("step", "a new picture every 4.2 frames", ())
    assert (found.rhythm | new).all()


def test_a_few_holds_in_a_row_are_no_steps() -> None:
    new = np.ones(120, np.bool_)
    for first in (20, 40, 70):
        new[first : first + 5] = False
    found = paced(np.where(new, 3, 0).astype(np.float32), repeats=~new)
    assert not found.rhythm.any()


def test_nothing_is_told_beside_a_jump() -> None:
    change = np.full(60, 2, np.float32)
    change[[29, 30]] = 12, 0.1
    assert paced(np.where(change < 1, 0, 3).astype(np.float32), repeats=change < 1, change=change).doubled == ()


@pytest.mark.parametrize("rate", [Fraction(1, 5), Fraction(3, 524288)])
def test_a_movie_of_less_than_half_a_picture_a_second_is_on_ones(rate: Fraction) -> None:
    """A run of slides, or a damaged index (the bench's mutants, seed 1, number 4346): its rate rounds to none at all."""
    found = read(np.zeros(30, np.bool_), rate)
    assert (found.kind, found.source) == ("step", None)
