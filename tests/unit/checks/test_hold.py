"""How dead frames are judged, on readings made by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.picture_rows import judged, paced, with_picture

from shotcrit.checks.hold import check as hold
from shotcrit.checks.registry import run_checks
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings


def still(frames: int, *spans: tuple[int, int], **parts: object) -> Readings:
    repeats = np.zeros(frames, np.bool_)
    for first, last in spans:
        repeats[first : last + 1] = True
    return with_picture(frames, repeats=repeats, **parts)


def kinds(readings: Readings, **limits: float) -> list[tuple[str, int, int, float, str]]:
    return [(f.kind, f.span.start, f.span.last, f.value, f.weight) for f in judged(hold, readings, **limits)]


def test_seven_dead_frames_at_the_tail_are_a_must_with_limit_one() -> None:
    found = judged(hold, still(264, (257, 263)))
    assert kinds(still(264, (257, 263))) == [("tail", 257, 263, 7, "must")]
    assert found[0].limit == 1
    assert found[0].says == "The last 7 frames hold still."
    assert found[0].unit == "frames"


@pytest.mark.parametrize(
    ("span", "expected"),
    [((1, 1), []), ((1, 2), ["head"]), ((99, 99), []), ((98, 99), ["tail"]), ((40, 42), []), ((40, 43), ["inside"]), ((2, 4), [])],
)
def test_the_limits_are_two_at_the_ends_and_four_inside(span: tuple[int, int], expected: list[str]) -> None:
    assert [k for k, *_ in kinds(still(100, span)) if k != "exit"] == expected


def test_heads_and_tails_belong_to_shots_not_to_the_film() -> None:
    readings = still(100, (47, 49), (51, 52), cuts=(50,))
    assert [k[:4] for k in kinds(readings)] == [("tail", 47, 49, 3), ("head", 51, 52, 2)]


def test_handles_are_no_part_of_the_shot_and_not_judged() -> None:
    """Eight frozen frames of handle are nobody's fault; a hold that runs up to the last frame that counts is a tail."""
    readings = still(100, (1, 8), (84, 99))
    assert [k[:3] for k in kinds(replace(readings, counts=Span(9, 90)))] == [("tail", 84, 89)]
    assert run_checks(replace(readings, counts=Span(9, 84)))[0] == ()


def test_a_drawn_shot_may_hold() -> None:
    readings = replace(still(100, (90, 99)), medium="drawn")
    assert kinds(readings) == []
    assert kinds(replace(still(100, (70, 99)), medium="drawn")) == [("tail", 70, 99, 30, "polish")]


def test_repeats_in_rhythm_are_no_holds() -> None:
    repeats = np.arange(100) % 2 == 1
    readings = with_picture(100, repeats=repeats, cadence=paced(repeats))
    assert kinds(readings) == []


def test_leaving_a_hold_at_full_speed_is_a_finding_and_an_eased_start_is_none() -> None:
    base = still(60, (20, 25))
    assert base.picture is not None
    jump, ease = np.full(60, 10, np.float32), np.full(60, 10, np.float32)
    ease[26:29] = 1, 4, 8
    sudden = replace(base, picture=replace(base.picture, movement=replace(base.picture.movement, values=jump)))
    eased = replace(base, picture=replace(base.picture, movement=replace(base.picture.movement, values=ease)))
    assert ("exit", 26, 26, 1.0, "polish") in kinds(sudden)
    assert [k for k, *_ in kinds(eased)] == ["inside"]


def test_a_limit_of_the_reviewers_own_is_used() -> None:
    assert kinds(still(100, (97, 99)), ends=3) == []


def test_without_pictures_the_check_says_what_it_needs() -> None:
    result = hold.run(replace(still(10), picture=None), {})
    assert [m.needs for m in result.not_measured] == ["pictures"]


def test_the_same_readings_give_the_same_findings_and_longer_is_surer() -> None:
    readings = still(100, (97, 99), (1, 8))
    assert judged(hold, readings) == judged(hold, readings)
    short, long = (judged(hold, still(100, (100 - n, 99)))[0].confidence for n in (2, 8))
    assert 0 < short < long < 1
