"""echo: planted lone bobs are found, whole bodies that sway stay silent. A hundred of each in the bench."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.limit_cases.motions import bobbing, seen, straight
from tests.make.motions import Motion, body, with_bob

from shotcrit.checks import echo
from shotcrit.checks.registry import limits_for

LIMITS = limits_for(echo, {})
FEW = 10


def told(readings):
    return echo.run(readings, LIMITS).findings


@pytest.mark.parametrize("level", [2, 3])
def test_lone_bobs_are_found_where_they_are(level):
    for seed in range(FEW):
        motion = with_bob(seed)
        (fault,) = motion.planted
        (finding,) = told(motion.readings(level, seed))
        assert echo.part_name(fault.mark) in finding.says
        assert abs(finding.span.start - fault.first) <= 8
        assert abs(finding.span.last - fault.last) <= 8
        if level == 3:
            assert finding.value == pytest.approx(1000 * fault.size, rel=0.1)


@pytest.mark.parametrize("level", [2, 3])
def test_bodies_that_sway_are_silent(level):
    assert [f.says for seed in range(FEW) for f in told(Motion(body(70 + seed, 120)).readings(level, seed))] == []


def test_it_is_said_with_rate_and_size_and_the_chain_is_drawn():
    (finding,) = told(bobbing(0.02))
    assert finding.says == "Ada's left knee bobs by about 38 px 3 times a second over 5 to 68, and nothing else in the body feels it."
    assert finding.suggest == "Let hips and chest take up a tenth of it, a frame or two later, or quieten the left knee."
    assert [stroke.kind for stroke in finding.strokes] == ["slip", "should"]
    (curve,) = finding.curves
    assert np.ptp(curve.seen) == pytest.approx(38.4, abs=1.0)
    assert np.ptp(curve.wanted) < 0.1


def test_two_knees_that_bob_are_one_finding():
    readings = bobbing(0.02)
    (ada,) = readings.acting
    marks = dict(ada.marks) | {"knee_right": replace(ada.marks["knee_left"], mark="knee_right")}
    assert len(told(replace(readings, acting=(replace(ada, marks=marks),)))) == 1


def test_a_nod_in_the_same_rhythm_is_no_echo_and_a_hand_may_wave():
    readings = bobbing(0.02)
    (ada,) = readings.acting
    nods = {name: replace(ada.marks["knee_left"], mark=name) for name in ("nose",)}
    assert len(told(replace(readings, acting=(replace(ada, marks=dict(ada.marks) | nods),)))) == 1
    still = {"hips", "chest", "shoulder_left"}
    waves = {name: track for name, track in ada.marks.items() if name in still} | {
        "hand_left": replace(ada.marks["knee_left"], mark="hand_left")
    }
    assert told(replace(readings, acting=(replace(ada, marks=waves),))) == ()


def test_a_bob_of_which_too_little_else_is_known_is_not_told():
    readings = bobbing(0.02)
    (ada,) = readings.acting
    alone = {name: ada.marks[name] for name in ("knee_left", "hips")}
    assert told(replace(readings, acting=(replace(ada, marks=alone),))) == ()


def test_marks_that_are_not_sure_enough_to_say_that_nothing_moves_say_nothing():
    readings = bobbing(0.01)
    assert len(told(readings)) == 1
    (ada,) = readings.acting
    unsure = {name: replace(track, error_px=np.full(72, 2.5, np.float32)) for name, track in ada.marks.items()}
    assert told(replace(readings, acting=(replace(ada, marks=unsure),))) == ()


def test_without_marks_it_says_whose_it_needs():
    (missing,) = echo.run(seen(hand_left=straight(np.ones(30))), LIMITS).not_measured
    assert missing.who == "Ada"
    assert "hips, chest" in missing.needs
