"""Breaths against the body: acted and unacted told apart at half a per cent of the head, under a moving camera and a swaying body."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.breathers import BREATH, FRAMES, RATE, breather

from shotcrit.checks.breath import check as breath
from shotcrit.checks.registry import limits_for
from shotcrit.clock import Span
from shotcrit.readings.acting import Across, Spot
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Tremor, Word

LIMITS = limits_for(breath, {})
SEEDS = range(60)


def kinds(readings):
    return [f.kind for f in breath.run(readings, LIMITS).findings]


def only(readings, kind):
    (finding,) = [f for f in breath.run(readings, LIMITS).findings if f.kind == kind]
    return finding


@pytest.mark.parametrize(("level", "noise"), [(3, 0.0), (2, 0.1), (2, 0.2)])
def test_acted_and_unacted_are_told_apart_at_half_a_per_cent(level, noise):
    """Issue: at 0.5 % of head height, moving camera, swaying body. Head of 200 px: the lift is one pixel."""
    found = [("missing" in kinds(breather(seed, 0.0, level=level, noise_px=noise))) for seed in SEEDS]
    false = [("missing" in kinds(breather(seed, 0.005, level=level, noise_px=noise))) for seed in SEEDS]
    recall, precision = np.mean(found), sum(found) / max(1, sum(found) + sum(false))
    print(level, noise, recall, precision)
    assert recall >= 0.9
    assert precision >= 0.9


@pytest.mark.parametrize("level", [2, 3])
@pytest.mark.parametrize("late", [-6, -4, 0, 5, 7])
def test_timing_is_recovered(level, late):
    for seed in range(6):
        readings = breather(seed, 0.03, level=level, late=late)
        if late == 0:
            assert kinds(readings) == []
        else:
            finding = only(readings, "timing")
            assert finding.value == pytest.approx(late, abs=2)
            assert ("late" if late > 0 else "early") in finding.says


def test_what_it_says_and_tries():
    finding = only(breather(2, 0.0), "missing")
    assert finding.says == "We hear Ada breathe in at 39; we don't see it."
    assert "let it out on “the”" in finding.suggest
    assert finding.span == Span(38, 50)
    assert finding.weight == "must"
    (curve,) = finding.curves
    assert len(curve.seen) == len(curve.wanted)
    assert max(curve.wanted) == pytest.approx(0.5, abs=0.01)


def test_a_breath_through_the_mouth_is_acted_and_an_unknown_mouth_is_said():
    assert "missing" not in kinds(breather(3, 0.0, mouth=0.15))
    finding = only(breather(3, 0.0, mouth=None), "missing")
    assert "mouth is not known" in finding.says
    assert finding.weight == "polish"


def test_whoever_is_out_of_the_picture_is_not_judged():
    readings = breather(4, 0.0)
    (ada,) = readings.acting
    for xy in (lambda t: np.full_like(t.xy, np.nan), lambda t: t.xy + np.float32(2)):
        marks = {name: replace(track, xy=xy(track)) for name, track in ada.marks.items()}
        result = breath.run(replace(readings, acting=(replace(ada, marks=marks),)), LIMITS)
        assert result.findings == ()
        assert "in the picture" in result.not_measured[0].needs


def test_without_chest_and_shoulders_it_says_what_it_needs():
    readings = breather(4, 0.0)
    (ada,) = readings.acting
    bare = replace(ada, marks={"hips": ada.marks["hips"]})
    result = breath.run(replace(readings, acting=(bare,)), LIMITS)
    assert "chest" in result.not_measured[0].needs
    assert result.findings == ()


def test_marks_too_shaky_to_tell_give_no_verdict():
    result = breath.run(breather(5, 0.0, noise_px=6.0), LIMITS)
    assert result.findings == ()
    assert "steadier marks" in result.not_measured[0].needs


@pytest.mark.parametrize("seed", range(4))
def test_a_mark_that_says_it_is_unsure_is_no_breath(seed):
    """Something covers the chest for two thirds of a second and takes its mark along; the mark's error says so."""
    readings = breather(seed, 0.0)
    (ada,) = readings.acting
    chest = ada.marks["chest"]
    xy, error = chest.xy.copy(), chest.error_px.copy()
    covered = slice(39, 56)
    xy[covered, 1] -= 12 / 1080
    blind = replace(ada, marks={**ada.marks, "chest": replace(chest, xy=xy)})
    error[covered] = 20
    told = replace(ada, marks={**ada.marks, "chest": replace(chest, xy=xy, error_px=error)})
    assert kinds(replace(readings, acting=(told,))) == ["missing"]
    assert kinds(replace(readings, acting=(blind,))) != ["missing"]


def test_an_exhale_through_an_open_mouth_is_acted_and_a_shut_one_is_not():
    out = replace(BREATH, kind="exhale", who="Ada")
    assert kinds(breather(6, 0.0, breath=out)) == ["missing"]
    assert kinds(breather(6, 0.0, breath=out, mouth=0.2)) == []


def test_a_smack_with_still_lips():
    smack = replace(BREATH, kind="smack", end_s=1.66, who="Ada")
    assert kinds(breather(7, 0.02, breath=smack)) == ["smack"]
    assert kinds(breather(7, 0.02, breath=smack, mouth=0.3)) == []


def _talking(readings, **more):
    words = tuple(Word("out", "Ada", 0.1 + 0.3 * i, 0.35 + 0.3 * i) for i in range(12))
    return replace(readings, sound=SoundReadings(words=words, **more))


def test_a_chest_that_never_moves_over_a_long_line():
    readings = breather(8, 0.02)
    (ada,) = readings.acting
    random = np.random.default_rng(1)
    flat = {
        name: replace(t, xy=(t.xy[:1] + random.normal(0, 0.1, t.xy.shape) / [1920, 1080]).astype(np.float32))
        for name, t in ada.marks.items()
    }
    assert "still_chest" in kinds(_talking(replace(readings, acting=(replace(ada, marks=flat),))))
    assert "still_chest" not in kinds(_talking(readings))


def test_a_shaking_voice_that_no_part_carries():
    readings = _talking(breather(9, 0.02, noise_px=0.05), tremors=(Tremor(1.0, 2.5, 6.0, 0.2, "level"),))
    assert "tremor" in kinds(readings)
    (ada,) = readings.acting
    shake = 0.8 * np.sin(2 * np.pi * 6 * np.arange(FRAMES) / RATE) / 1080
    chest = ada.marks["chest"]
    moved = replace(chest, xy=chest.xy + np.stack([0 * shake, shake], axis=1).astype(np.float32))
    assert "tremor" not in kinds(replace(readings, acting=(replace(ada, marks={**ada.marks, "chest": moved}),)))


def outlined(readings, error_px, *, along=True, instead=None):
    """The same marks on plain cloth: lost to their texture, known by their outline."""
    (ada,) = readings.acting
    marks = dict(ada.marks)
    for name in ("chest", "shoulder_left", "shoulder_right"):
        track = marks[name]
        error = np.full(FRAMES, error_px, np.float32)
        across = Across(track.xy[:, 1], error, error) if along else None
        xy = np.full_like(track.xy, np.nan)
        xy[0] = track.xy[0]
        marks[name] = replace(
            track, xy=xy, error_px=np.where(np.isfinite(xy[:, 0]), 0, np.nan), placed=(0,), across=across, instead=instead
        )
    return replace(readings, acting=(replace(ada, marks=marks),))


def test_a_shoulder_on_plain_cloth_is_judged_by_its_outline_and_says_how_surely():
    assert kinds(outlined(breather(2, 0.02), 0.2)) == []
    finding = only(outlined(breather(2, 0.0), 0.2), "missing")
    assert finding.weight == "polish"
    assert finding.confidence <= 0.6
    assert "the outline beside the mark is the body's own, ±0." in finding.says


def test_an_outline_that_leaves_too_much_open_accuses_nobody():
    result = breath.run(outlined(breather(2, 0.0), 0.95), LIMITS)
    assert result.findings == ()
    assert "steadier marks" in result.not_measured[0].needs


def test_a_mark_that_cannot_be_followed_is_given_another_spot():
    readings = breather(2, 0.0)
    x, y = readings.acting[0].marks["chest"].xy[0]
    readings = outlined(readings, 0.2, along=False, instead=Spot(0, float(x) - 9 / 1920, float(y) + 14 / 1080))
    readings = replace(readings, movie=replace(readings.movie, width=1920, height=1080))
    (ada,) = readings.acting
    marks = {n: replace(t, error_px=np.full(FRAMES, 0.2, np.float32)) if n == "hips" else t for n, t in ada.marks.items()}
    result = breath.run(replace(readings, acting=(replace(ada, marks=marks),)), LIMITS)
    assert result.findings == ()
    assert "for chest try the spot 14 px below and 9 px to screen left of it, frame 1" in result.not_measured[0].needs
