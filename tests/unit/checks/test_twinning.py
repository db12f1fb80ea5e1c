"""twinning: hands that are one another's mirror, and all that is none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.limit_cases.motions import twins
from tests.make.motions import Motion, body

from shotcrit.checks import twinning
from shotcrit.checks.registry import limits_for
from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.cast import parse_cast

LIMITS = limits_for(twinning, {})


def told(readings):
    return twinning.run(readings, LIMITS).findings


def test_hands_that_mirror_each_other_are_told_with_both_paths():
    (finding,) = told(twins(1.0))
    assert finding.says == "Ada's hands move as one over 10 to 50."
    assert finding.value == pytest.approx(1.0, abs=0.01)
    assert [stroke.kind for stroke in finding.strokes] == ["path", "path"]


@pytest.mark.parametrize("level", [2, 3])
def test_hands_of_a_body_are_told_when_one_copies_the_other_and_else_not(level):
    for seed in (3, 4, 5):
        world = body(seed)
        assert told(Motion(world).readings(level, seed, noise_px=0.05)) == ()
        stands = {name: np.tile(places[:1], (len(places), 1)) for name, places in world.items() if not name.startswith("hand")}
        left = world["hand_left"] - (world["chest"] - stands["chest"])
        copied = {**stands, "hand_left": left, "hand_right": left * (-1, 1, 1)}
        assert told(Motion(copied).readings(level, seed, noise_px=0.05)) != ()


def test_in_a_jump_both_arms_swing_and_that_is_right():
    readings = twins(1.0)
    (ada,) = readings.acting
    way = np.stack([np.full(60, 600.0), 600 + 60 * np.sin(np.arange(60) / 3)], axis=1)
    hips = MarkTrack("Ada", "hips", (way / (1920, 1080)).astype(np.float32), np.full(60, 0.005, np.float32))
    assert told(replace(readings, acting=(replace(ada, marks={**ada.marks, "hips": hips}),))) == ()


def test_hands_that_carry_one_thing_move_together():
    cast = parse_cast(
        {
            "characters": [{"name": "Ada", "marks": {"hand_left": [], "hand_right": []}}],
            "props": [{"name": "tray", "marks": {"rim": [], "edge": []}}],
            "contacts": [
                {"a": "Ada.hand_left", "b": "tray.rim", "first": 1, "last": 60},
                {"a": "Ada.hand_right", "b": "tray.edge", "first": 1, "last": 60},
            ],
        },
        name="c",
    )
    assert told(replace(twins(1.0), cast=cast)) == ()


def test_one_hand_alone_asks_for_the_other():
    readings = twins(1.0)
    (ada,) = readings.acting
    marks = {name: track for name, track in ada.marks.items() if name != "hand_right"}
    (missing,) = twinning.run(replace(readings, acting=(replace(ada, marks=marks),)), LIMITS).not_measured
    assert (missing.who, "both hands" in missing.needs) == ("Ada", True)
