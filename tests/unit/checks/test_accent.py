"""accent: heads that nod late, on the voice, and not at all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.limit_cases.motions import speaking

from shotcrit.checks import accent
from shotcrit.checks.registry import limits_for

LIMITS = limits_for(accent, {})


def told(readings):
    return accent.run(readings, LIMITS).findings


@pytest.mark.parametrize("late", [-4.0, -2.0, 0.0, 2.0])
def test_nods_ahead_of_the_voice_and_on_it_are_right(late):
    readings = speaking(late)
    assert told(readings) == ()
    (head,) = accent.answers(readings, LIMITS)
    assert head.lag == pytest.approx(late, abs=0.6)


def test_nods_that_are_all_late_are_one_finding():
    (finding,) = told(speaking(7.0))
    assert finding.says.startswith("Ada's head comes 7 frames after the voice's accents over ")
    assert finding.value == pytest.approx(7.0, abs=0.6)
    assert finding.weight == "polish"
    assert len(finding.curves[0].seen) == len(finding.curves[0].wanted)


def test_nods_now_early_now_late_are_not_late():
    readings = speaking(0.0)
    (ada,) = readings.acting
    nose = ada.marks["nose"]
    shifted = nose.xy.copy()
    shifted[:55] = nose.xy[np.clip(np.arange(55) - 8, 0, None)]
    readings = replace(readings, acting=(replace(ada, marks={**ada.marks, "nose": replace(nose, xy=shifted)}),))
    assert told(readings) == ()


def test_the_strongest_accent_that_nothing_answers_is_a_question_of_its_own():
    (finding,) = told(speaking(0.0, strongest=3.0))
    assert finding.kind == "missing"
    assert "leans hardest on 'burn'" in finding.says
    assert finding.confidence <= 0.5


def test_without_accents_it_asks_for_speech():
    (missing,) = accent.run(replace(speaking(0.0), sound=None), LIMITS).not_measured
    assert "accents" in missing.needs
