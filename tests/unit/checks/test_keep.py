"""keep: what is good is offered, the best of a kind, three a shot at most; and what is faulty is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.breathers import breather
from tests.make.limit_cases.looks import passing
from tests.make.limit_cases.motions import arching, drifting_out, seen, straight, trailing

from shotcrit.checks.causes import one_each
from shotcrit.checks.finding import Finding
from shotcrit.checks.keep import check as keep
from shotcrit.checks.keep.good import Good
from shotcrit.checks.registry import limits_for
from shotcrit.clock import Span

LIMITS = limits_for(keep, {})


def told(readings):
    return keep.run(readings, LIMITS).findings


def kinds(readings):
    return [finding.kind for finding in told(readings)]


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        (passing(0.5), "Ada and Ben meet each other's eyes across the cut to"),
        (breather(3, 0.03, level=3), "Ada's breath at 39 is acted: chest and shoulders rise on it, by"),
        (trailing(1.0), "The lamp's body trails the handle by 3 frames over 1 to 96."),
        (arching(0.0), "Ada's left hand goes in one clean arc over"),
        (drifting_out(0.0004), "The hold stays alive to the shot's last frame, 84."),
    ],
)
def test_what_is_done_well_is_said_and_weighs_keep(readings, says):
    found = [finding for finding in told(readings) if finding.says.startswith(says)]
    assert [finding.weight for finding in found] == ["keep"]
    assert found[0].suggest.startswith("Keep ")


def test_what_is_not_is_passed():
    assert "eyeline" not in kinds(passing(6.0))
    assert kinds(breather(3, 0.0, level=3)) == []
    assert "breath" not in kinds(breather(4, 0.03, level=3, late=6.0))
    assert "arc" not in kinds(arching(0.8))
    assert kinds(seen(hand_left=straight(np.full(60, 20.0), start=100.0))) == []


def test_an_arc_with_a_frame_off_it_is_not_praised():
    readings = arching(0.0)
    assert "arc" in kinds(readings)
    (ada,) = readings.acting
    hand = ada.marks["hand_left"]
    off = hand.xy.copy()
    off[28, 1] += 0.02
    assert "arc" not in kinds(replace(readings, acting=(replace(ada, marks={"hand_left": replace(hand, xy=off)}),)))


def test_three_a_shot_and_the_best_of_a_kind():
    good = [Good(kind.id, "Ada", Span(n, n + 5), 1.0, "px", "lift", "Good", 3, 0.5, float(n)) for kind in keep.KINDS for n in (1, 7)]
    chosen = keep.chosen(seen(hand_left=straight(np.ones(60))), good)
    assert [(one.kind, one.best) for one in chosen] == [("eyeline", 7.0), ("breath", 7.0), ("overlap", 7.0)]


def test_praise_stays_praise_whatever_it_rests_on_and_drives_no_fault_out():
    said = Finding(
        "praise", "arc", "Ada", Span(0, 2), 1.0, "px", 1.0, "keep", 0.9, "Good", "Keep it", "guess: a test", rests_on=("it is so",)
    )
    assert (said.weight, said.confidence) == ("keep", 0.6)
    fault = replace(said, check="arc", weight="must", rests_on=(), says="Bad")
    assert one_each([said, fault]) == [said, fault]


def test_nobody_followed_nothing_praised():
    assert keep.run(replace(arching(0.0), acting=()), LIMITS) == keep.Result()
