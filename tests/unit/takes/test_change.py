from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.take_pairs import Look, Pair, Plan

from shotcrit.clock import Numbering, Span
from shotcrit.readings.seen import Box
from shotcrit.takes.align import line_up
from shotcrit.takes.change import change_map
from shotcrit.takes.remarks import stretch_says

FRAMES = np.arange(40.0)
OLD = Plan(FRAMES, sound=None)


@pytest.mark.parametrize(
    "look",
    [Look(quality=45), Look(grain=3.0), Look(gain=0.8, lift=10, gamma=1.15), Look(size=(400, 180))],
    ids=["compressed", "grainy", "graded", "another size"],
)
def test_what_only_grain_grade_size_or_compression_changed_is_left_out(look: Look) -> None:
    old, new = Pair("look", OLD, replace(OLD, look=look, grain_seed=4)).sides(sound=False)
    assert old.glances is not None
    assert new.glances is not None
    found = change_map(old.glances, new.glances, line_up(old, new))
    assert found.regions == ()
    assert not found.touched(Span(0, 40))


def test_what_moved_otherwise_is_found_where_and_when_it_did() -> None:
    mended = replace(OLD, mended=((12, 20),), grain_seed=4)
    old, new = Pair("mended", OLD, mended).sides(sound=False)
    assert old.glances is not None
    assert new.glances is not None
    found = change_map(old.glances, new.glances, line_up(old, new))
    assert {(r.new.start, r.new.last) for r in found.regions} == {(12, 20)}
    assert all(r.box.right < 0.65 for r in found.regions)
    assert found.touched(Span(12, 21), Box(0, 0, 0.6, 1))
    assert not found.touched(Span(12, 21), Box(0.75, 0, 1, 1))
    assert not found.touched(Span(0, 11))
    assert np.flatnonzero(found.parts > 0).tolist() == list(range(12, 21))


def test_a_counter_is_known_as_such_and_counts_nowhere() -> None:
    old, new = Pair("counter", OLD, replace(OLD, look=Look(counter=True), grain_seed=4)).sides(sound=False)
    assert old.glances is not None
    assert new.glances is not None
    found = change_map(old.glances, new.glances, line_up(old, new))
    assert found.painted[-2, 4]
    assert not found.painted[:20].any()
    assert found.regions == ()


def test_every_kind_of_stretch_has_its_sentence() -> None:
    from_one = line_up(*Pair("cut", OLD, replace(OLD, u=np.r_[np.full(6, np.nan), FRAMES[:15], FRAMES[25:]])).sides(sound=False))
    said = [stretch_says(s, Numbering(1001), Numbering(1), 40, 36) for s in from_one.stretches]
    assert [one for one in said if one] == [
        "6 frames stand before the old take begins, such as a slate: 1 to 6.",
        "1016 to 1025 of the old take are gone.",
    ]
