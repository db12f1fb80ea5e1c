"""Who looks at what, proposed from rests between darts; and eye contact as the sheet shows it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.two_hander import Fault, at_level_2, rotate, two_hander

from shotcrit.checks.eyeline import check as eyeline
from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import limits_for
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.propose import looks_of
from shotcrit.sheet.build import build_sheet

SEEDS = range(300, 340)
"""Not the seeds that anything was tuned on."""


def unsaid(readings: Readings) -> Readings:
    assert readings.cast is not None
    return replace(readings, cast=readings.cast.model_copy(update={"looks": ()}))


@pytest.mark.parametrize(("level", "least"), [(3, 0.95), (2, 0.85)])
def test_what_is_proposed_is_what_is_looked_at(level: int, least: float) -> None:
    right = wrong = nothing = 0
    for seed in SEEDS:
        readings, _ = two_hander(seed, Fault(), at_lens=seed % 4 == 0)
        readings = unsaid(readings if level == 3 else at_level_2(readings, seed))
        mine = [look for look in looks_of(readings) if look.who == "Ada"]
        wanted = "camera" if seed % 4 == 0 else "Ben"
        right += any(look.at == wanted for look in mine)
        wrong += any(look.at != wanted for look in mine)
        nothing += not mine
        assert all(look.proposed and 0.5 <= look.confidence <= 1 for look in mine)
    assert right / (right + wrong) >= least
    assert right / len(SEEDS) >= least, nothing


def test_a_look_into_nothing_proposes_nothing() -> None:
    readings, _ = two_hander(3, Fault(up=35))
    assert not [look for look in looks_of(unsaid(readings)) if look.who == "Ada"]


def test_a_dart_parts_two_looks_and_a_blink_does_not() -> None:
    readings, _ = two_hander(5, Fault(), frames=48)
    ada, ben = readings.acting
    away = np.where(np.arange(48) < 24, 0, 60)
    gaze = {
        side: replace(
            eye, direction=np.array([rotate(d, np.array([0.0, 1, 0]), a) for d, a in zip(eye.direction, away, strict=True)], np.float32)
        )
        for side, eye in ada.gaze.items()
    }
    lids = np.ones(48, np.float32)
    lids[8:12] = 0
    readings = unsaid(replace(readings, acting=(replace(ada, gaze=gaze, lids={"left": lids, "right": lids}), ben)))
    mine = [look for look in looks_of(readings) if look.who == "Ada" and look.at == "Ben"]
    assert [(look.first, look.last) for look in mine] == [(0, 22)]


def test_the_cast_has_the_last_word_and_proposals_are_never_judged() -> None:
    readings, _ = two_hander(7, Fault(up=12))
    said = looks_of(readings)
    assert [(look.who, look.at, look.proposed, look.confidence) for look in said] == [
        ("Ada", "Ben", False, 1.0),
        ("Ben", "Ada", False, 1.0),
    ]
    result = eyeline.run(replace(unsaid(readings), looks=said), limits_for(eyeline, {}))
    assert not [f for f in result.findings if f.kind == "off_target"]
    assert any("looks in the cast" in m.needs for m in result.not_measured)


@pytest.mark.parametrize(("up", "contact"), [(0, True), (12, False)])
def test_eye_contact_stands_on_the_sheet(up: float, contact: bool) -> None:
    readings, _ = two_hander(7, Fault(up=up))
    readings = replace(readings, looks=looks_of(readings))
    findings = eyeline.run(readings, limits_for(eyeline, {})).findings
    lanes = {lane.who: lane.stretches for lane in build_sheet(Measured(readings, findings, ())).of("eyes")}
    assert [look.kind for look in lanes["Ben"]] == ["look_met" if contact else "look_missed"]
    assert [look.kind for look in lanes["Ada"]] == ["look_met" if contact else "look_missed"]
