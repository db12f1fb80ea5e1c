"""Where the voice leans: peaks of loudness, pitch and length on stressed vowels, ranked.

strength = z(loudness) + z(pitch) + z(length) on a scale where the shot's median accent is 1; z against the same speaker's other vowels.
Loudness, pitch and length are the three classic cues of stress (Fry 1955, JASA 27:765-768; from memory); equal weights are a guess.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.clock import runs
from shotcrit.readings.events import Accent, Phone, Word
from shotcrit.readings.sound.phoneset import PHONES, VOWELS
from shotcrit.readings.sound.spectra import FRAME_S, Spectra
from shotcrit.readings.sound.voicing import voiced_frames
from shotcrit.readings.sound.waveform import Samples

UNSTRESSED_HANDICAP = 1.0
"""Taken off a vowel with no stress (guess: an unstressed vowel must stand out by a standard deviation more)."""
LEAST_LEAN = 0.35
"""Sum of deviations from which a peak counts as an accent (guess)."""
CLOSEST_S = 0.18
"""Two accents are not nearer than this: about a syllable (200 ms mean, Klatt 1976)."""
_SEMITONES = 12.0


@dataclass(frozen=True)
class _Nucleus:
    """A vowel or voiced peak: its loudest moment, loudness dB, pitch in semitones (nan if none), length against what is usual."""

    time_s: float
    loud_db: float
    pitch: float
    length: float
    handicap: float
    word: int | None
    who: str | None


def find_accents(spectra: Spectra, samples: Samples, words: Sequence[Word] = (), phones: Sequence[Phone] = ()) -> tuple[Accent, ...]:
    """Accents in order of time, rank 1 the strongest. With phones: on their vowels; without: on voiced peaks of loudness.

    A lone syllable is an accent whatever it measures.
    """
    nuclei = _from_phones(spectra, words, phones) if phones else _from_voice(spectra, samples)
    if not nuclei:
        return ()
    if len(nuclei) == 1:
        return (Accent(nuclei[0].time_s, 1.0, 1, nuclei[0].word),)  # it leans against nothing, and is its own median
    leans = _leans(nuclei)
    kept = _strongest(nuclei, leans)
    middle = float(np.median([leans[i] for i in kept])) if kept else 1.0
    order = sorted(kept, key=lambda i: (-leans[i], nuclei[i].time_s))
    rank = {index: place for place, index in enumerate(order, 1)}
    ordered = sorted(kept, key=lambda i: nuclei[i].time_s)
    return tuple(Accent(nuclei[i].time_s, round(leans[i] / middle, 3), rank[i], nuclei[i].word) for i in ordered)


def _nucleus(
    spectra: Spectra, start: int, stop: int, usual_s: float, handicap: float, word: int | None, who: str | None
) -> _Nucleus | None:
    stop = min(stop, len(spectra))
    if stop <= start:
        return None
    level = spectra.level_db[start:stop]
    strong = spectra.strength[start:stop] > 0.5
    hertz = float(np.median(spectra.pitch_hz[start:stop][strong])) if strong.any() else np.nan
    length = float(np.log2((stop - start) * FRAME_S / usual_s))
    return _Nucleus(
        (start + int(level.argmax())) * FRAME_S, float(level.max()), _SEMITONES * float(np.log2(hertz)), length, handicap, word, who
    )


def _from_phones(spectra: Spectra, words: Sequence[Word], phones: Sequence[Phone]) -> list[_Nucleus]:
    found: list[_Nucleus | None] = []
    for phone in phones:
        if phone.phone in VOWELS:
            who = words[phone.word].who if phone.word is not None and phone.word < len(words) else None
            handicap = UNSTRESSED_HANDICAP if phone.stress == 0 else 0.0
            usual = PHONES[phone.phone].inherent_ms / 1000
            first, stop = round(phone.start_s / FRAME_S), round(phone.end_s / FRAME_S)
            found.append(_nucleus(spectra, max(0, first), stop, usual, handicap, phone.word, who))
    return [n for n in found if n is not None]


def _from_voice(spectra: Spectra, samples: Samples) -> list[_Nucleus]:
    """Voiced stretches cut at their dips of loudness: roughly syllables."""
    found: list[_Nucleus | None] = []
    for span in runs(voiced_frames(spectra, samples)):
        for start, stop in _syllables(spectra.level_db[span.start : span.stop]):
            found.append(_nucleus(spectra, span.start + start, span.start + stop, 0.13, 0.0, None, None))
    return [n for n in found if n is not None]


def _syllables(level: npt.NDArray[np.float32]) -> list[tuple[int, int]]:
    """Cut where the smoothed level dips by 3 dB under both neighbours (Mermelstein 1975, JASA 58:880-883, simplified)."""
    smooth = np.convolve(np.pad(level, 3, mode="edge"), np.ones(7) / 7, "valid")
    cuts, peak, dip, at = [0], smooth[0], smooth[0], 0
    for i, value in enumerate(smooth):
        if value < dip:
            dip, at = value, i
        if value > dip + 3 and peak > dip + 3:
            cuts.append(at)
            peak = dip = value
        if value > peak:
            peak, dip, at = value, value, i
    return [(a, b) for a, b in zip(cuts, [*cuts[1:], len(level)], strict=True) if b - a >= 3]


def _z(values: npt.NDArray[np.float64], least: float) -> npt.NDArray[np.float64]:
    """Deviation from the median in robust standard deviations (1.4826 MAD), the spread no smaller than `least`; nan counts as 0."""
    if np.isnan(values).all():
        return np.zeros(len(values))
    centre = np.nanmedian(values)
    spread = max(least, 1.4826 * float(np.nanmedian(np.abs(values - centre))))
    return np.nan_to_num((values - centre) / spread)


def _leans(nuclei: Sequence[_Nucleus]) -> list[float]:
    """Each nucleus against the others of the same speaker. Least spreads: 2 dB, 1 semitone, a quarter of an octave of length (guess)."""
    lean = np.zeros(len(nuclei))
    for who in {n.who for n in nuclei}:
        own = [i for i, n in enumerate(nuclei) if n.who == who]
        columns = (("loud_db", 2.0), ("pitch", 1.0), ("length", 0.25))
        lean[own] = sum(np.clip(_z(np.array([getattr(nuclei[i], name) for i in own]), least), -3, 3) for name, least in columns)
        lean[own] -= [nuclei[i].handicap for i in own]
    return [float(x) for x in lean]


def _strongest(nuclei: Sequence[_Nucleus], leans: Sequence[float]) -> list[int]:
    """Peaks from the strongest down, none too near a stronger one."""
    kept: list[int] = []
    for i in sorted(range(len(nuclei)), key=lambda i: -leans[i]):
        if leans[i] >= LEAST_LEAN and all(abs(nuclei[i].time_s - nuclei[k].time_s) >= CLOSEST_S for k in kept):
            kept.append(i)
    return kept
