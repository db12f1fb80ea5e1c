"""gravity: flights by an outside integrator (scipy) and by the table of falls, and what is no flight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.thrown import FRAMES, RATE, beside_ada, jumping, lowered, thrown

from shotcrit.checks import gravity
from shotcrit.checks.registry import limits_for
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.motion.flight import flights

LIMITS = limits_for(gravity, {})
STANDARD = 9.80665


def told(readings):
    return gravity.run(readings, LIMITS).findings


@pytest.mark.parametrize(("level", "within"), [(3, 0.03), (2, 0.08)])
@pytest.mark.parametrize("true", [6.0, STANDARD, 14.0])
def test_the_acceleration_of_what_is_thrown_is_known_to_3_percent_in_a_scene_and_8_in_pictures(level, within, true):
    for seed in range(4):
        (flying,) = gravity.flights_of(beside_ada(thrown(true, up=2.5 + 0.3 * seed, along=0.4 * seed), level=level, seed=seed), 1.7)
        assert flying.flight.acceleration == pytest.approx(true, rel=within)


def test_the_handbooks_falls_give_standard_gravity():
    """Drops after 1 to 12 frames at 24 a second, in metres: half of 9.80665 times the square of the time."""
    drops = np.array([0, 0.0085, 0.0341, 0.0766, 0.1362, 0.2128, 0.3065, 0.4171, 0.5448, 0.6895, 0.8513, 1.0300, 1.2258])
    up = np.concatenate([np.full(6, 2.0), 2.0 - drops, np.full(4, 2.0 - drops[-1])])
    (flight,) = flights(up, np.zeros((len(up), 2)), np.full(len(up), 1e-4), 0, RATE)
    assert flight.acceleration == pytest.approx(STANDARD, rel=0.005)
    assert flight.lands


@pytest.mark.parametrize("level", [2, 3])
def test_what_falls_as_things_do_is_not_told_with_air_or_without(level):
    assert told(beside_ada(thrown(STANDARD), level=level)) == ()
    assert told(beside_ada(thrown(STANDARD, drag=0.02), level=level)) == ()


@pytest.mark.parametrize("level", [2, 3])
@pytest.mark.parametrize("seconds", [0.5, 0.7, 1.0, 1.5])
def test_what_a_hand_puts_down_is_no_fall(level, seconds):
    assert gravity.flights_of(beside_ada(lowered(seconds), level=level), 1.7) == []


def test_a_thing_that_floats_is_said_with_the_frames_it_should_take():
    (finding,) = told(beside_ada(thrown(6.0), level=3))
    assert finding.says == "The ball floats over 17 to 41: it falls with about 6 m/s² where gravity is 9.8."
    assert finding.suggest == "Give the flight 21 frames instead of 27, or more height in the same time."
    assert (finding.kind, finding.weight, finding.rests_on) == ("floats", "polish", ())
    assert finding.value == pytest.approx(6.0, rel=0.03)
    (stroke,) = finding.strokes
    assert stroke.kind == "path"
    (curve,) = finding.curves
    assert np.diff(curve.wanted).mean() / np.diff(curve.seen).mean() == pytest.approx(STANDARD / 6.0, rel=0.03)


def test_in_pictures_it_rests_on_somebodys_height():
    (finding,) = told(beside_ada(thrown(4.5), level=2))
    assert finding.rests_on == ("Ada is 1.7 m tall and stands as far away as the ball flies",)
    assert finding.confidence <= 0.6


def test_what_is_held_is_on_no_flight():
    readings = beside_ada(thrown(6.0), level=3)
    cast = parse_cast(
        {
            "characters": [{"name": "Ada", "marks": {"hand_left": []}}],
            "props": [{"name": "ball", "marks": {"middle": []}}],
            "contacts": [{"a": "Ada.hand_left", "b": "ball.middle", "first": 1, "last": FRAMES}],
        },
        name="c",
    )
    assert told(replace(readings, cast=cast)) == ()


def test_a_jump_on_another_planet_is_told_and_one_on_this_is_not():
    (finding,) = told(jumping(3.7))
    assert "Ada floats through the jump" in finding.says
    assert told(jumping(STANDARD)) == ()


def test_without_a_scale_nothing_is_said():
    readings = beside_ada(thrown(4.0), level=2)
    assert gravity.run(replace(readings, acting=readings.acting[1:]), LIMITS).findings == ()
    assert "cast" in gravity.run(replace(readings, cast=None), LIMITS).not_measured[0].needs
