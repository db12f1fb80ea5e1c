from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from shotcrit.clock import Span
from shotcrit.takes.frame_map import FrameMap, inverse, stretches_of


def _kinds(way: np.ndarray, old: int, ratio: Fraction = Fraction(1)) -> list[tuple[str, tuple[int, int] | None, tuple[int, int] | None]]:
    found = stretches_of(np.asarray(way, np.int64), old, ratio)
    return [(s.kind, s.old and (s.old.start, s.old.last), s.new and (s.new.start, s.new.last)) for s in found]


@pytest.mark.parametrize(
    ("way", "kinds"),
    [
        (np.arange(60), ["alike"]),
        (np.r_[5:60], ["gone", "alike"]),
        (np.r_[0:20, 30:60], ["alike", "gone", "alike"]),
        (np.r_[0:20, [19] * 10, 20:60], ["alike", "held", "alike"]),
        (np.r_[[-1] * 8, 0:60], ["inserted", "alike"]),
        (np.r_[0:30, np.arange(30, 50, 0.5), 50:100].astype(int), ["alike", "slower", "alike"]),
        (np.r_[0:30, np.arange(30, 60, 1.5), 60:100].astype(int), ["alike", "faster", "alike"]),
        (np.r_[0:30, np.arange(30, 150, 1 / 1.05), 150:190].astype(int), ["alike", "slower", "alike"]),
    ],
    ids=["as it was", "trimmed", "cut", "held", "slate", "half its speed", "half again as fast", "a twentieth slower"],
)
def test_each_way_of_running_has_its_name(way: np.ndarray, kinds: list[str]) -> None:
    assert [kind for kind, _, _ in _kinds(way, int(way.max()) + 1)] == kinds


def test_a_slower_stretch_whose_frames_were_not_taken_evenly_is_one() -> None:
    way = np.r_[0:40, 40, 40, 40, 41, 41, 42, 43, 43, 44, 44, 45, 45, 46, 46, 46, 47, 47, 47, 48, 48, 49:100]
    assert [kind for kind, _, _ in _kinds(way, 100)] == ["alike", "slower", "alike"]


def test_another_rate_is_no_retime() -> None:
    assert [kind for kind, _, _ in _kinds(np.arange(0, 60, 0.8).astype(int), 60, Fraction(24, 30))] == ["alike"]
    assert [kind for kind, _, _ in _kinds(np.arange(0, 60, 0.5).astype(int), 60, Fraction(24, 48))] == ["alike"]


def test_an_old_frame_becomes_the_first_new_one_that_shows_it() -> None:
    way = np.array([-1, 0, 1, 1, 1, 2, 4, 9])
    assert inverse(way, 11).tolist() == [1, 2, 5, 6, 6, -1, -1, -1, -1, 7, -1]


def test_a_range_reaches_over_all_that_shows_it() -> None:
    way = np.array([0, 1, 1, 1, 2, 3])
    mapped = FrameMap(way, inverse(way, 5), np.ones(6, np.float32))
    assert mapped.span(Span(1, 2)) == Span(1, 4)
    assert mapped.span(Span(0, 4)) == Span(0, 6)
    assert mapped.span(Span(4, 5)) is None
    assert (mapped(4), mapped(99), mapped.back(4)) == (None, None, 2)
