"""Lip sync against mouths driven by voices with their own phone times (Festival and flite, Debian packages). The check sees the aligned phones only."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import numpy as np
import pytest
from tests.make.mouths import blended, keyed, talking
from tests.make.voices import say

from shotcrit.checks.lipsync import check as lipsync
from shotcrit.checks.lipsync.offset import best_offset
from shotcrit.checks.registry import limits_for
from shotcrit.clock import FrameClock
from shotcrit.readings.events import Phone
from shotcrit.readings.sound.articulation import wanted_mouth
from shotcrit.readings.sound.lines_file import parse_lines
from shotcrit.readings.sound.reading import read_sound

LIMITS = limits_for(lipsync, {})
VOICES = ("kal_diphone", "cmu_us_slt_arctic_hts", "flite_rms")
TEXT = "Bring me the lamp before the storm breaks over the harbour, and promise me you will not open that window again."
ENDINGS = (("blended", blended), ("keyed", keyed))


@cache
def spoken(voice: str, text: str = TEXT):
    speech = say(text, voice)
    clock = FrameClock.for_sound(Fraction(24), Fraction(len(speech.samples), 16000) + Fraction(1, 2))
    heard = read_sound(speech.sound, clock, parse_lines(f"Ada: {text}"))
    truth = tuple(Phone(name, 1, None, start, end) for name, start, end in speech.phones)
    return clock, heard, truth


def run(clock, heard, opening, width, *, level=3, noise=0.0, seed=0):
    readings = talking(heard.words, heard.phones, opening, width, clock, level=level, noise=noise, wave=heard.wave, seed=seed)
    return lipsync.run(readings, LIMITS).findings


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize(("name", "make"), ENDINGS)
def test_planted_shifts_come_back(voice, name, make):
    """Issue: -6 to +6 frames within a quarter frame at level 3, half a frame at level 2 (here: 3 % of the mouth's width of noise)."""
    clock, heard, truth = spoken(voice)
    frames = np.arange(len(clock))
    base = best_offset(make(truth, clock)[0], heard.phones, clock, frames=frames)
    assert base is not None
    for late in (-6, -3, -1, 0, 1, 2, 3, 4, 6):
        opening, _ = make(truth, clock, late=late)
        exact = best_offset(opening, heard.phones, clock, frames=frames)
        noisy = best_offset(opening + 0.03 * np.random.default_rng(late + 9).normal(size=len(opening)), heard.phones, clock, frames=frames)
        assert exact is not None
        assert noisy is not None
        # A mouth keyed by another hand has a habit of its own (base); the planted shift comes on top of it.
        assert exact.frames - base.frames == pytest.approx(late, abs=0.25)
        assert noisy.frames - base.frames == pytest.approx(late, abs=0.5)
        assert abs(base.frames) < 0.5


@pytest.mark.parametrize("voice", VOICES)
def test_a_mouth_from_the_phones_passes_and_the_same_mouth_shuffled_fails(voice):
    clock, heard, _ = spoken(voice)
    opening, width = blended(heard.phones, clock)
    assert not [f for f in run(clock, heard, opening, width) if f.weight == "must"]
    order = np.random.default_rng(1).permutation(len(clock) // 6 + 1)
    mixed = np.concatenate([opening[6 * i : 6 * i + 6] for i in order])[: len(clock)]
    assert {"unrelated", "loudness"} & {f.kind for f in run(clock, heard, mixed, width)}


@pytest.mark.parametrize("voice", VOICES)
def test_a_mouth_that_follows_loudness_is_told_apart(voice):
    clock, heard, truth = spoken(voice)
    level = np.sqrt(np.nan_to_num(np.abs(heard.wave)).max(axis=(1, 2)).astype(float))
    assert "loudness" in {f.kind for f in run(clock, heard, 0.4 * level / level.max(), np.ones(len(clock)))}
    for _, make in ENDINGS:
        assert "loudness" not in {f.kind for f in run(clock, heard, *make(truth, clock))}


@pytest.mark.parametrize("late", [3, 4])
def test_a_late_line_is_one_finding_and_not_twenty(late):
    clock, heard, truth = spoken(VOICES[1])
    opening, width = blended(truth, clock, late=late)
    findings = run(clock, heard, opening, width)
    offsets = [f for f in findings if f.kind == "offset"]
    assert len(offsets) == 1
    assert offsets[0].value == pytest.approx(late, abs=0.5)
    assert offsets[0].weight == "must"
    assert len([f for f in findings if f.kind == "closure"]) <= 1


def test_sixty_planted_missed_closures():
    """Issue: recall and precision 0.9 on 60 planted ones. Three of four closures that stand alone are opened up."""
    hits = misses = false = 0
    for seed, (voice, text) in enumerate((v, t) for v in VOICES for t in SENTENCES):
        clock, heard, truth = spoken(voice, text)
        make = ENDINGS[seed % 2][1]
        opening, width = make(truth, clock)
        closures = [p for p in truth if p.phone in "PBM"]
        lone = [p for p in closures if not any(q is not p and abs(q.start_s - p.start_s) < 0.24 for q in closures)]
        opened = [p for i, p in enumerate(lone) if (i + seed) % 4]
        starts = np.array([float(e) for e in clock.edges[:-1]])
        for phone in opened:
            near = (starts > phone.start_s - 0.1) & (starts < phone.end_s + 0.1)
            opening[near] = np.maximum(opening[near], 0.15)
        flagged = [f for f in run(clock, heard, opening, width) if f.kind == "closure"]
        times = [float(clock.start((f.span.start + f.span.last) // 2)) for f in flagged]
        for phone in opened:
            found = any(phone.start_s - 0.1 <= t <= phone.end_s + 0.1 for t in times)
            hits, misses = hits + found, misses + (not found)
        false += sum(not any(p.start_s - 0.1 <= t <= p.end_s + 0.1 for p in opened) for t in times)
    assert hits + misses >= 60
    assert hits / (hits + misses) >= 0.9
    assert hits / (hits + false) >= 0.9


SENTENCES = (
    TEXT,
    "Maybe the boat comes home by supper if the wind keeps up, but nobody can promise it.",
    "Put the bucket by the pump, then climb up and help me trim the lamp before it gets dark.",
    "My mother kept a book of every ship that passed the point, and I remember most of their names.",
    "A simple number beats a clever answer, so keep both maps open and compare them before breakfast.",
    "Pack the blue map, remember the broken pump, and keep a boat by the bottom step in case somebody comes.",
)


def test_wanted_mouth_shuts_on_closures_and_rounds_on_w():
    """By the table's own sources: p, b, m shut; w narrowest; open vowels widest open (Ladefoged & Johnson, from memory; see articulation.json)."""
    times = np.array([0.05])
    at = {p: wanted_mouth([Phone(p, 1, None, 0.0, 0.1)], times) for p in ("M", "AA", "IY", "W", "UW", "S")}
    assert at["M"].opening[0] < 0.01
    assert at["AA"].opening[0] > at["IY"].opening[0] > at["S"].opening[0]
    assert at["W"].width[0] < at["UW"].width[0] < 1 < at["IY"].width[0]
