"""eyeline on generated two-handers with planted faults, and the cone of direct gaze at and around its limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.two_hander import Fault, at_level_2, rotate, two_hander

from shotcrit.checks.eyeline import check as eyeline
from shotcrit.checks.eyeline.darts import saccade_ms
from shotcrit.checks.registry import limits_for
from shotcrit.geometry.gaze import lens_verdict, miss
from shotcrit.readings.cast import Cast

LIMITS = limits_for(eyeline, {})
FAULTS = [Fault(up=6), Fault(up=-6), Fault(right=8), Fault(right=-8)]


def found(readings, who="Ada"):
    return [f for f in eyeline.run(readings, LIMITS).findings if f.who == who and f.kind == "off_target"]


def test_forty_two_handers_half_of_them_faulty():
    """Issue: recall and precision 0.95 at level 3 on 40 scenes: too high, too low, wrong side, not at the lens."""
    hits = misses = false = 0
    for seed in range(40):
        faulty, at_lens = seed % 2 == 0, seed % 5 == 4
        fault = FAULTS[(seed // 2) % 4] if faulty else Fault()
        if at_lens and faulty:
            fault = Fault(right=9) if seed % 4 else Fault(right=-9)
        readings, _ = two_hander(seed, fault, at_lens=at_lens)
        flagged = bool(found(readings))
        hits += flagged and faulty
        misses += faulty and not flagged
        false += flagged and not faulty
        assert not found(readings, "Ben")
    assert hits / (hits + misses) >= 0.95
    assert hits / max(hits + false, 1) >= 0.95


def test_forty_two_handers_at_level_2():
    """Issue: recall and precision 0.85. Eyes known to 1.5 degrees each, no camera, depth by the size of heads; too high, too low, wrong side,
    not at the lens. Sideways misses across the depth of the picture are within the bar of a guessed depth:
    the wrong side is the other half of the picture, 100 degrees off."""
    faults = [Fault(up=9), Fault(up=-9), Fault(right=100), Fault(right=-100)]
    hits = misses = false = 0
    for seed in range(40):
        faulty, at_lens = seed % 2 == 0, seed % 5 == 4
        fault = (Fault(right=12) if at_lens else faults[(seed // 2) % 4]) if faulty else Fault()
        readings = at_level_2(two_hander(seed, fault, at_lens=at_lens)[0], seed)
        flagged = bool(found(readings))
        hits += flagged and faulty
        misses += faulty and not flagged
        false += flagged and not faulty
        false += bool(found(readings, "Ben"))
    print(hits, misses, false)
    assert hits / (hits + misses) >= 0.85
    assert hits / max(hits + false, 1) >= 0.85


def test_a_look_in_pictures_holds_no_shot_back_however_far_it_is_off():
    """Depth comes from the size of heads and the lens is not known: an assumption never accuses, and no number is given that it does not bear."""
    (wrong,) = found(at_level_2(two_hander(0, Fault(right=100))[0], 0))
    assert wrong.weight == "polish"
    assert wrong.confidence <= 0.6
    assert "both heads are equally tall" in wrong.rests_on
    assert wrong.says.endswith("if both heads are equally tall and the lens is an ordinary one.")


@pytest.mark.parametrize(("degrees", "frames_at_24"), [(5, 0.77), (10, 1.03), (15, 1.30), (20, 1.56), (30, 2.09)])
def test_main_sequence(degrees, frames_at_24):
    """Carpenter 1988, worked: D = 2.2 A + 21 ms."""
    assert saccade_ms(degrees) * 24 / 1000 == pytest.approx(frames_at_24, abs=0.006)


@pytest.mark.parametrize(("frames", "floats"), [(1, False), (2, False), (3, False), (6, True), (9, True)])
def test_a_dart_of_fifteen_degrees_that_takes_too_long_floats(frames, floats):
    readings, _ = two_hander(1, Fault(), frames=30)
    turn = 15 * np.clip((np.arange(30) - 10) / frames, 0, 1)
    (ada, ben) = readings.acting
    gaze = {
        side: replace(
            eye, direction=np.array([rotate(d, np.array([0.0, 1, 0]), a) for d, a in zip(eye.direction, turn, strict=True)], np.float32)
        )
        for side, eye in ada.gaze.items()
    }
    readings = replace(readings, acting=(replace(ada, gaze=gaze), ben))
    assert any(f.kind == "dart" for f in eyeline.run(readings, LIMITS).findings) == floats


def test_a_finding_says_how_far_and_which_way():
    readings, _ = two_hander(1, Fault(up=10))
    (finding,) = found(readings)
    assert finding.value == pytest.approx(10, abs=0.2)
    assert finding.says == "Ada looks over Ben's head, 10 degrees high."
    assert finding.suggest.startswith("Bring both irises down about ")
    assert finding.suggest.endswith(" px, to the rings.")
    assert (finding.weight, finding.rests_on) == ("must", ())
    assert {"is", "should", "patch"} <= {stroke.kind for stroke in finding.strokes}


@pytest.mark.parametrize(
    ("right", "up", "verdict"),
    [
        (0, 0, "at the lens"),
        (2.6, 0, "at the lens"),  # the cone's edge, Horstmann & Linke 2021
        (2.7, 0, "undecided"),
        (4.0, 0, "undecided"),  # accepted as direct up to 4 degrees, Linke & Horstmann 2022
        (4.1, 0, "off the lens"),
        (-4.1, 0, "off the lens"),
        (0, -2, "at the lens"),  # Gao et al. 2025: about 2 degrees below the lens is best
        (0, 3.9, "undecided"),  # vertical optimum disputed below 4 degrees (Gao et al. 2025 against Horstmann & Linke 2022)
        (0, 4.1, "off the lens"),
        (0, -5, "undecided"),  # far less sensitive below (Chen 2002)
        (0, -9.1, "off the lens"),  # nobody accepts beyond 9 degrees, Linke & Horstmann 2022
    ],
)
def test_cone_of_direct_gaze(right, up, verdict):
    assert lens_verdict(right, up) == verdict


def test_an_error_bar_across_a_limit_gives_no_verdict():
    assert lens_verdict(5.0, 0.0, error_deg=0.4) == "off the lens"
    assert lens_verdict(5.0, 0.0, error_deg=0.6) == "undecided"
    assert lens_verdict(2.0, 0.0, error_deg=0.5) == "undecided"


def test_split_as_the_audience_sees_it():
    """Looking at the lens and 5 degrees to screen right of it; looking into the picture and 5 degrees to screen right."""
    towards = np.array([0.0, 0.0, -1.0])
    right = np.array([np.sin(np.radians(5)), 0.0, -np.cos(np.radians(5))])
    assert miss(right, towards).right == pytest.approx(5)
    assert miss(right * [1, 1, -1], towards * [1, 1, -1]).right == pytest.approx(5)
    up = np.array([0.0, -np.sin(np.radians(3)), -np.cos(np.radians(3))])
    assert miss(up, towards).up == pytest.approx(3)
    assert miss(up, towards).right == pytest.approx(0, abs=1e-9)


def test_without_looks_it_says_what_it_needs():
    readings, _ = two_hander(1, Fault())
    bare = readings.__class__(movie=readings.movie, clock=readings.clock, acting=readings.acting)
    assert "looks" in eyeline.run(bare, LIMITS).not_measured[0].needs


def test_looks_in_a_scene_without_cameras_are_not_passed_in_silence():
    readings, _ = two_hander(0, Fault(up=6))
    nowhere = [
        replace(a, gaze={s: replace(g, direction=np.full_like(g.direction, np.nan)) for s, g in a.gaze.items()}) for a in readings.acting
    ]
    result = eyeline.run(replace(readings, acting=tuple(nowhere), cameras=()), LIMITS)
    assert {one.who for one in result.not_measured if "a camera of the scene" in one.needs} == {"Ada", "Ben"}
    assert result.findings == ()


@pytest.mark.parametrize(("right", "asks"), [(0.0, False), (2.0, False), (3.3, True), (9.0, False)])
def test_a_look_beside_the_lens_that_studies_disagree_on_is_left_to_the_reviewer(right, asks):
    """References 4.1 and 4.2: felt within 2.6 degrees, not beyond 4; between them it is said that nobody can decide it by a number."""
    readings, _ = two_hander(4, Fault(right=right), at_lens=True)
    result = eyeline.run(readings, LIMITS)
    assert any("your own eye" in one.needs for one in result.not_measured if one.who == "Ada") == asks
    assert bool([f for f in result.findings if f.who == "Ada" and f.kind == "off_target"]) == (right > 4)


@pytest.mark.parametrize(("off", "told"), [("left", True), ("right", False), ("up", False), ("down", False), ("behind", False)])
def test_a_partner_off_the_picture_is_looked_at_on_their_own_side(off, told):
    """Ada looks to screen right, at Ben, whom her single does not show; the cast says roughly where he is."""
    both = at_level_2(two_hander(3, Fault())[0], 3)
    alone = replace(both, acting=tuple(a for a in both.acting if a.who == "Ada"))
    cast = Cast.model_validate(
        {"characters": [{"name": "Ada"}, {"name": "Ben"}], "looks": [{"who": "Ada", "at": "Ben", "off": off}, {"who": "Ben", "at": "Ada"}]}
    )
    result = eyeline.run(replace(alone, cast=cast), LIMITS)
    found_here = [f for f in result.findings if f.who == "Ada"]
    assert [(f.kind, f.weight) for f in found_here] == ([("off_target", "polish")] if told else [])
    assert all("to screen right" in f.says and f.confidence <= 0.6 and f.rests_on for f in found_here)
    assert ("Ada" in {m.who for m in result.not_measured}) is (
        off == "behind"
    )  # behind the lens only the other side of a cut tells a direction
