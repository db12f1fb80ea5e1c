"""Spans: half-open inside, both ends shown."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotcrit.clock import Numbering, Span, runs
from shotcrit.errors import InputError


def test_runs_are_the_stretches_of_true_values() -> None:
    assert runs([False, True, True, False, True]) == [Span(1, 3), Span(4, 5)]
    assert runs([]) == []
    assert runs([True]) == [Span(0, 1)]


@given(st.lists(st.booleans(), max_size=60))
def test_runs_cover_exactly_the_true_values_and_never_touch(flags: list[bool]) -> None:
    found = runs(flags)
    assert sorted(i for span in found for i in span) == [i for i, flag in enumerate(flags) if flag]
    assert all(b.start > a.stop for a, b in itertools.pairwise(found))


@pytest.mark.parametrize(("start", "stop"), [(3, 3), (4, 2), (-1, 2)])
def test_an_empty_or_negative_span_is_refused(start: int, stop: int) -> None:
    with pytest.raises(InputError, match="no range"):
        Span(start, stop)


def test_overlap_and_gap() -> None:
    assert Span(2, 6).overlap(Span(4, 9)) == Span(4, 6)
    assert Span(2, 4).overlap(Span(4, 9)) is None
    assert Span(2, 4).gap(Span(4, 9)) == 0
    assert Span(2, 4).gap(Span(7, 9)) == 3
    assert Span(7, 9).gap(Span(2, 4)) == 3


def test_seven_dead_frames_at_the_end_of_264_are_shown_as_258_to_264() -> None:
    assert Numbering(1).text(Span(257, 264)) == "258 to 264"
    assert Numbering(1001).text(Span(0, 1)) == "1001"


@given(st.integers(-2000, 2000), st.integers(0, 10**6))
def test_numbering_and_its_inverse(first: int, index: int) -> None:
    numbering = Numbering(first)
    assert numbering.index(numbering.shown(index)) == index
