"""arc: planted pops and hitches are found on their frames, clean motion stays silent, one cause is one finding. More in the bench."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.limit_cases.motions import drifting, popped, seen, shaking, stopped, straight
from tests.make.motions import Motion, body, with_hitch, with_pop

from shotcrit.checks.arc import check as arc
from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import limits_for
from shotcrit.readings.bundle import PictureReadings, Readings, Series
from shotcrit.readings.cast import parse_cast

LIMITS = limits_for(arc, {})
FEW = 12
"""Of a hundred in the bench."""


def told(readings: Readings) -> tuple[Finding, ...]:
    return arc.run(readings, LIMITS).findings


@pytest.mark.parametrize("level", [2, 3])
@pytest.mark.parametrize(("maker", "least"), [(with_pop, 11), (with_hitch, 9)])
def test_most_of_what_is_planted_is_found_and_nothing_else(level, maker, least):
    hits = 0
    for seed in range(FEW):
        motion = maker(seed)
        (fault,) = motion.planted
        found = told(motion.readings(level, seed))
        near = [f for f in found if f.kind == fault.kind and f.span.start <= fault.last + 1 and f.span.last >= fault.first - 1]
        hits += bool(near)
        assert len(found) == len(near), [f.says for f in found]
    assert hits >= least


@pytest.mark.parametrize("level", [2, 3])
def test_clean_motion_is_silent(level):
    assert [f.says for seed in range(FEW) for f in told(Motion(body(50 + seed)).readings(level, seed))] == []


def test_a_pop_is_said_drawn_and_measured():
    (finding,) = told(popped(0.01))
    assert finding.says == "Ada's left hand jumps about 19 px off its path on 31."
    assert finding.suggest == "Put it back between 30 and 32."
    assert finding.value == pytest.approx(19.2, abs=0.1)
    way, slip = finding.strokes
    assert (way.kind, slip.kind, slip.label) == ("path", "slip", "19 px")
    assert len(way.points) == 17
    assert np.ptp([y for _, y in way.points]) * 1080 < 0.1
    (curve,) = finding.curves
    assert curve.unit == "px a frame"


def test_a_whole_arm_that_pops_is_one_finding_with_what_the_hand_holds():
    ways = {name: drifting() for name in ("hand_left", "shoulder_left", "hips", "chest", "knee_left")}
    for name in ("hand_left", "shoulder_left"):
        ways[name] = ways[name].copy()
        ways[name][30, 1] += 20
    readings = seen(**ways)
    (ada,) = readings.acting
    lamp = replace(ada, who="lamp", marks={"handle": replace(ada.marks["hand_left"], who="lamp", mark="handle")})
    cast = parse_cast(
        {
            "characters": [{"name": "Ada", "marks": {"hand_left": []}}],
            "props": [{"name": "lamp", "marks": {"handle": []}}],
            "contacts": [{"a": "Ada.hand_left", "b": "lamp.handle", "first": 1, "last": 72}],
        },
        name="c",
    )
    (finding,) = told(replace(readings, acting=(ada, lamp), cast=cast))
    assert finding.who == "Ada"
    assert "left hand and left shoulder jump" in finding.says


def test_what_the_whole_picture_does_is_no_pop():
    ways = {name: drifting() for name in ("hand_left", "hips", "chest", "head_top")}
    for way in ways.values():
        way[30, 1] += 20
    assert told(seen(**ways)) == ()


def test_a_doubled_frame_is_no_stop_and_no_pop():
    way = straight(np.where(np.arange(71) == 30, 0.0, np.where(np.arange(71) == 31, 24.0, 12.0)))
    readings = seen(hand_left=way)
    assert told(readings) != ()
    repeats = np.zeros(72, bool)
    repeats[31] = True
    picture = PictureReadings(repeats, Series("movement", "px", np.ones(72, np.float32)), (), 0.5)
    assert told(replace(readings, picture=picture)) == ()


def test_a_moving_camera_is_no_movement_of_a_body():
    """The camera jolts for a frame and the mark with it: the set's own movement tells."""
    way = drifting(0.0)
    way[30, 1] += 20
    camera = np.zeros((72, 2, 3), np.float32)
    camera[30, 1, 2], camera[31, 1, 2] = 20, -20
    picture = PictureReadings(np.zeros(72, bool), Series("movement", "px", np.ones(72, np.float32)), (), 0.5, camera=camera)
    assert told(replace(seen(hand_left=way), picture=picture)) == ()


def test_a_cut_is_no_pop():
    way = drifting()
    way[30:] += (300, 100)
    picture = PictureReadings(np.zeros(72, bool), Series("movement", "px", np.ones(72, np.float32)), (30,), 0.5)
    assert told(replace(seen(hand_left=way), picture=picture)) == ()


def test_the_followers_own_error_is_no_shake():
    readings = shaking(0.002)
    assert [f.kind for f in told(readings)] == ["jitter"]
    (ada,) = readings.acting
    unsure = {name: replace(track, error_px=np.full(72, 3.0, np.float32)) for name, track in ada.marks.items()}
    assert told(replace(readings, acting=(replace(ada, marks=unsure),))) == ()


def test_a_stop_of_a_mark_that_is_not_sure_may_be_the_followers():
    readings = stopped(0.0)
    assert [f.kind for f in told(readings)] == ["hitch"]
    (ada,) = readings.acting
    unsure = {name: replace(track, error_px=np.full(72, 1.0, np.float32)) for name, track in ada.marks.items()}
    assert told(replace(readings, acting=(replace(ada, marks=unsure),))) == ()


def test_a_mark_that_comes_and_goes_is_judged_only_where_it_is_seen():
    way = drifting()
    way[28:34] = np.nan
    way[40:44] = np.nan
    assert told(seen(hand_left=way)) == ()


def test_without_marks_it_says_what_it_needs():
    readings = seen(hand_left=drifting())
    missing = arc.run(replace(readings, acting=()), LIMITS).not_measured
    assert "marks on bodies" in missing[0].needs


def test_a_stepped_pass_jumps_on_purpose():
    assert arc.run(replace(popped(0.01), medium="blocking"), LIMITS) == arc.Result()
