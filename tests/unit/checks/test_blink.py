"""blink: planted blinks are found, faults of lids are told with their frames, and lids that do as people's do are left alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.blinking import RATE, Planted, lids, lively, watching

from shotcrit.checks.blink import check
from shotcrit.checks.blink.shape import timed_of
from shotcrit.checks.registry import limits_for
from shotcrit.readings.events import Blink

LIMITS = limits_for(check, {})
NEAR = 3
"""Frames between a planted blink and the one that was found, at their deepest."""
USUAL = [Planted(20 + 62 * k, 2, 1, 4) for k in range(8)]
"""As people who talk blink: 23 a minute, shut in two frames, open in four."""


def told(readings):
    return check.run(readings, LIMITS).findings


def test_of_two_hundred_planted_blinks_nearly_all_are_found_and_hardly_one_more():
    hits = right = every = planted = 0
    for seed in range(20):
        readings, truth = lively(seed)
        places = [blink.at + blink.held / 2 for blink in truth]
        planted += len(places)
        hits += sum(any(abs(blink.shut - place) <= NEAR for blink in readings.blinks) for place in places)
        every += len(readings.blinks)
        right += sum(any(abs(blink.shut - place) <= NEAR for place in places) for blink in readings.blinks)
        assert [finding.says for finding in told(readings)] == []
    assert planted == 200
    assert hits / planted >= 0.95
    assert right / every >= 0.95


def test_lids_that_do_as_peoples_do_are_left_alone():
    way = 12 * np.sin(np.arange(520) / 40)
    assert told(watching(lids(520, USUAL, 1 - 0.012 * (way + 12)), pitch=way)) == ()


def test_a_stare_is_told_with_its_seconds_and_only_while_it_is_seen():
    readings = watching(lids(300, [Planted(30), Planted(280)]))
    (stare,) = told(readings)
    assert (stare.kind, stare.who) == ("stare", "Ada")
    assert stare.value == pytest.approx((278 - 35) / RATE, abs=0.2)
    assert stare.says == "Ada doesn't blink for 10.2 seconds, 36 to 279."
    (ada,) = readings.acting
    turned = {side: replace(gaze, direction=-gaze.direction) for side, gaze in ada.gaze.items()}
    assert told(replace(readings, acting=(replace(ada, gaze=turned),))) == ()
    outside = {side: replace(gaze, origin=gaze.origin + 1) for side, gaze in ada.gaze.items()}
    assert told(replace(readings, acting=(replace(ada, gaze=outside),))) == ()


def test_where_lids_are_not_read_for_three_frames_a_blink_may_hide():
    lost = lids(300, [Planted(30), Planted(280)])
    lost[150:153] = np.nan
    assert told(watching(lost)) == ()
    lost[152] = 1.0
    assert [finding.kind for finding in told(watching(lost))] == ["stare"]


def test_closed_eyes_are_no_stare():
    assert told(watching(lids(300, [Planted(30), Planted(120, 6, 60, 6), Planted(280)]))) == ()


def test_one_finding_holds_all_blinks_of_one_fault():
    slow = [replace(blink, closing=6.0, opening=2.0) for blink in USUAL]
    (finding,) = told(watching(lids(520, slow)))
    assert finding.kind == "slower"
    assert len(finding.frames) == len(slow)
    assert finding.value == pytest.approx(4.0, abs=0.3)
    late = [replace(blink, at=blink.at + 2) for blink in USUAL]
    (finding,) = told(watching(lids(520, USUAL), lids(520, late)))
    assert finding.kind == "apart"
    assert finding.value == pytest.approx(2.0, abs=0.2)


def test_a_swing_with_a_blink_on_it_is_left_alone_and_one_within_a_stare_is_the_stares():
    t = np.clip((np.arange(120) - 50) / 5, 0, 1)
    assert [f.kind for f in told(watching(np.ones(120), yaw=50 * (t - 0.5)))] == ["turn"]
    assert told(watching(lids(120, [Planted(52)]), yaw=50 * (t - 0.5))) == ()
    assert told(watching(np.ones(120), yaw=25 * (t - 0.5))) == ()
    t = np.clip((np.arange(240) - 50) / 5, 0, 1)
    assert [f.kind for f in told(watching(np.ones(240), yaw=50 * (t - 0.5)))] == ["stare"]


def test_moments_of_a_blink_lie_where_they_were_planted():
    timed = timed_of(lids(60, [Planted(30, 4, 2, 6)]), Blink("Ada", 27, 31, 37))
    assert timed is not None
    assert timed.closed == pytest.approx(28.0, abs=0.01)
    assert timed.opened == pytest.approx(35.0, abs=0.01)
    assert (timed.closing, timed.opening) == (pytest.approx(4.0, abs=0.01), pytest.approx(6.0, abs=0.01))


def test_who_has_no_lids_is_named_with_what_it_takes_and_drawings_are_left_alone():
    readings = watching(np.ones(240))
    bare = replace(readings, acting=())
    (missing,) = check.run(bare, LIMITS).not_measured
    assert missing.who == "Ada"
    assert "marks of both eyes" in missing.needs
    assert [nobody.who for nobody in check.run(replace(bare, cast=None), LIMITS).not_measured] == [None]
    assert check.run(replace(readings, medium="drawn"), LIMITS).findings == ()
