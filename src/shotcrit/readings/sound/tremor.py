"""A shake of voice or breath: modulation of level or pitch between 4 and 12 Hz.

Physiological and essential vocal tremor lie at about 4 to 12 Hz (checks.md). The syllables of speech modulate the level at 4 to 7 a second too
(Klatt 1976), so a shake of the level counts only inside one unbroken stretch and where it is regular.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.readings.events import Breath, Tremor
from shotcrit.readings.sound.smooth import median_of_3, running_mean
from shotcrit.readings.sound.spectra import FRAME_S, Spectra, to_db
from shotcrit.readings.sound.voicing import voiced_frames
from shotcrit.readings.sound.waveform import Samples

SLOWEST_HZ, FASTEST_HZ = 4.0, 12.0
CYCLES = 3.0
"""Waves that a shake must have (guess: two are a wobble)."""
LEAST_SEMITONES = 0.25
"""Depth of pitch, peak from the mean; the ear tells apart about a tenth of a semitone in a steady tone (guess)."""
LEAST_LEVEL = 0.12
"""Depth of level, peak from the mean as a fraction; 0.12 is about 2 dB from top to bottom (guess)."""
REGULAR = 0.65
"""Share of the movement between 2 and 20 Hz that one sine explains (guess; noise has about 0.3, speech 0.2 to 0.5)."""
STEADY_DB = 4.5
"""Mean deviation of the spectrum's shape within a window, up to which the mouth holds still: then a shake of the level is no string of
syllables (guess; a held vowel has about 2, running speech 6 and more)."""
WINDOW_S = 0.8
"""Seconds looked at together: three waves at the slowest rate (guess)."""

Floats = npt.NDArray[np.float64]


def find_tremors(spectra: Spectra, samples: Samples, breaths: Sequence[Breath] = ()) -> tuple[Tremor, ...]:
    """Shakes of the voiced stretches and of the breaths, in order of time; seconds from sample 0."""
    found: list[Tremor] = []
    for span in runs(voiced_frames(spectra, samples)):
        pitch = 12 * np.log2(median_of_3(np.maximum(spectra.pitch_hz[span.start : span.stop], 1.0)).astype(np.float64))
        found += _shakes(pitch, span, "pitch", LEAST_SEMITONES)
        found += _shakes(_level(spectra, span), span, "level", LEAST_LEVEL, _shape(spectra, span))
    for breath in breaths:
        first, stop = round(breath.start_s / FRAME_S), min(round(breath.end_s / FRAME_S), len(spectra))
        if breath.kind != "smack" and stop - first > 3:
            span = Span(first, stop)
            found += _shakes(_level(spectra, span), span, "level", 2 * LEAST_LEVEL)
    return tuple(sorted(found, key=lambda t: (t.start_s, t.carrier)))


def _level(spectra: Spectra, span: Span) -> Floats:
    """Amplitude over its own slow course, 1 = the course."""
    amplitude = 10 ** (spectra.level_db[span.start : span.stop].astype(np.float64) / 20)
    course = running_mean(amplitude, max(3, round(0.3 / FRAME_S)))
    return np.asarray(amplitude / np.maximum(course, 1e-9))


def _shape(spectra: Spectra, span: Span) -> Floats:
    """The spectrum from 300 Hz to 4 kHz less its own level, dB [shape=(n, 7)]."""
    bands = to_db(spectra.bands[span.start : span.stop, 2:9]).astype(np.float64)
    return np.asarray(bands - bands.mean(axis=1, keepdims=True))


def _shakes(values: Floats, span: Span, carrier: Literal["level", "pitch"], least: float, shape: Floats | None = None) -> list[Tremor]:
    """Windows in which one sine between 4 and 12 Hz explains the movement; windows that agree are joined.

    shape : where given, only windows count in which it holds still
    """
    size = round(WINDOW_S / FRAME_S)
    if len(values) < CYCLES / FASTEST_HZ / FRAME_S:
        return []
    starts = range(0, max(1, len(values) - size + 1), size // 4)
    hits = [(a, min(a + size, len(values)), *_sine(values[a : a + size])) for a in starts]
    if shape is not None:
        hits = [h for h in hits if shape[h[0] : h[1]].std(axis=0).mean() <= STEADY_DB]
    good = [h for h in hits if h[3] >= least and h[4] >= REGULAR and (h[1] - h[0]) * FRAME_S * h[2] >= CYCLES]
    joined: list[list[tuple[int, int, float, float, float]]] = []
    for hit in good:
        if joined and hit[0] <= joined[-1][-1][1] and abs(hit[2] - joined[-1][-1][2]) < 1.5:
            joined[-1].append(hit)
        else:
            joined.append([hit])
    return [_tremor(group, span, carrier) for group in joined]


def _tremor(group: list[tuple[int, int, float, float, float]], span: Span, carrier: Literal["level", "pitch"]) -> Tremor:
    best = max(group, key=lambda h: h[4])
    start, end = (span.start + group[0][0]) * FRAME_S, (span.start + group[-1][1]) * FRAME_S
    return Tremor(start, end, round(best[2], 2), round(best[3], 3), carrier)


def _sine(values: Floats) -> tuple[float, float, float]:
    """Rate in Hz, depth and share of movement explained by the best sine between 4 and 12 Hz (least squares on a grid of 0.1 Hz)."""
    steps = np.arange(len(values))
    moved = values - np.polyval(np.polyfit(steps, values, 1), steps)
    moved = moved - running_mean(moved, max(3, round(0.4 / FRAME_S)))
    time = np.arange(len(values)) * FRAME_S
    rates = np.arange(SLOWEST_HZ, FASTEST_HZ + 0.05, 0.1)
    turns = 2 * np.pi * rates[:, None] * time[None, :]
    sines = np.stack([np.cos(turns), np.sin(turns)], axis=-1)
    total = float((moved**2).sum())
    if total <= 1e-12:
        return SLOWEST_HZ, 0.0, 0.0
    # Normal equations of all rates at once, 2 x 2 each: a window holds more than a turn of the slowest, so they are far from singular.
    across = np.swapaxes(sines, 1, 2)
    pull = across @ moved
    fits = np.linalg.solve(across @ sines, pull[..., None])[..., 0]
    shares = (fits * pull).sum(axis=1) / total
    best = int(np.argmax(shares))
    return float(rates[best]), float(np.hypot(*fits[best])), float(shares[best])
