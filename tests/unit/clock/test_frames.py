"""The frame clock: exact at every edge, steady or not."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotcrit.clock import FrameClock, Span
from shotcrit.errors import ReadingError

RATES = st.sampled_from([Fraction(24), Fraction(24000, 1001), Fraction(25), Fraction(30000, 1001), Fraction(60)])


@given(RATES, st.integers(1, 400))
def test_each_frame_begins_on_its_own_start(rate: Fraction, frames: int) -> None:
    clock = FrameClock.steady(rate, frames)
    i = frames // 2
    assert clock.frame_at(clock.start(i)) == i
    assert clock.frame_at(clock.stop(i) - Fraction(1, 10**12)) == i
    assert clock.frames(clock.start(i), clock.stop(i)) == Span(i, i + 1)
    assert clock.position(clock.middle(i)) == i + 0.5


@given(st.lists(st.integers(1, 9), min_size=1, max_size=40), st.integers(0, 400))
def test_a_variable_clock_agrees_with_looking_frame_by_frame(lengths: list[int], tick: int) -> None:
    starts = [Fraction(sum(lengths[:i]), 100) for i in range(len(lengths))]
    clock = FrameClock.from_starts(starts, Fraction(24), last_duration=Fraction(lengths[-1], 100))
    time = Fraction(tick, 100)
    slow = max((i for i, s in enumerate(starts) if s <= time), default=0)
    assert clock.frame_at(time) == slow
    assert clock.duration == Fraction(sum(lengths), 100)


def test_an_event_shorter_than_a_frame_gets_the_frame_that_it_falls_in() -> None:
    clock = FrameClock.steady(Fraction(24), 48)
    assert clock.frames(0.5, 0.51) == Span(12, 13)
    assert clock.frames(-0.5, 0.1) == Span(0, 3)
    assert clock.frames(2.0, 2.5) is None
    assert clock.frames(-1, 0) is None


def test_positions_run_on_past_both_ends_at_the_nominal_rate() -> None:
    clock = FrameClock.steady(Fraction(24), 24)
    assert clock.position(Fraction(-1, 24)) == -1
    assert clock.position(Fraction(25, 24)) == 25


def test_a_sound_alone_gets_a_frame_for_its_last_part_of_one() -> None:
    assert len(FrameClock.for_sound(Fraction(24), Fraction(101, 100))) == 25


@pytest.mark.parametrize("edges", [(), (Fraction(0),), (Fraction(1), Fraction(2)), (Fraction(0), Fraction(0))])
def test_a_clock_that_does_not_rise_from_nought_is_refused(edges: tuple[Fraction, ...]) -> None:
    with pytest.raises(ReadingError, match="frame clock"):
        FrameClock(edges, Fraction(24))
