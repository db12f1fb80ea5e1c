"""Who could breathe: of noises that look like breaths and smacks, those beside speech and not inside of it; and whether any can be heard at all.

The acoustic model has breaths among its noises, so where it hears phones there is speech, however weak its consonants stand over the noise of the place. Wind
and music make noises of a breath's shape too; what tells them is that nobody speaks beside them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from shotcrit.readings.events import Breath, Word
from shotcrit.readings.sound.denoise import clearance_db
from shotcrit.readings.sound.listen import Heard
from shotcrit.readings.sound.phoneset import PHONES, VOWELS
from shotcrit.readings.sound.spectra import FRAME_S
from shotcrit.readings.sound.waveform import Samples

Bools = npt.NDArray[np.bool_]

MOST_PHONES = 0.3
"""Share of a noise's time in which phones are heard, from which it is speech. Measured without lines: 21 breaths in read speech 0.00 to 0.02; noises inside
words, room tone 16 and 30 dB under them, 0.5 to 1."""
PLAIN_DB = 36.0
"""Loud over quiet, from which a voice is seen wherever there is one: then what a loud breath is heard as speaks for a breath. Under it weak voices drown, and
any phone speaks for speech (guess: between 30 dB, where vowels were lost, and studio speech at 45)."""
OF_BREATH = frozenset({"HH", "AE", "F", "P", "T", "K"})
"""What a breath 15 dB under the voice and its beginning are heard as (generated breaths of two recipes)."""
OF_VOICE = ("vowel", "nasal", "liquid", "glide")
"""A click of the mouth is heard as any stop or fricative."""
ALONE_S = 0.08
"""Silence that parts two syllables (guess: about a stop's closure)."""
BESIDE_S = 2.0
FEWEST_VOWELS = 5
"""Vowels with a voice, heard so near before or after it, that make it a person's: read speech has 6 to 12, music and effects of
an open film's trailer and of another mostly none, 4 at most."""
LEAST_VOICED = 0.5
"""Of a heard vowel's time, to be one with a voice."""
LEAST_CLEAR_DB = 26.0
"""Loud over quiet, under which breaths drown: most lie 20 to 40 dB under the voice, and must stand over the noise to be heard (guess, after the recordings
used here)."""


def of_people(
    noises: Sequence[Breath], heard: Sequence[Heard], words: Sequence[Word], voiced: Bools, clear_db: float
) -> tuple[Breath, ...]:
    """Those that lie beside speech and not in it.

    voiced : bool [shape=(n,)] a frame of 10 ms each; words : what is known to be said, may be empty; clear_db : loud over quiet in the whole sound
    """
    vowels = [(h.start_s, h.end_s) for h in heard if h.phone in VOWELS and _voiced(h, voiced)]
    heard = _in_syllables(heard)
    return tuple(
        n for n in noises if _phones_in(n, _speaks(heard, n, clear_db)) < MOST_PHONES and (_near_word(n, words) or _near_vowels(n, vowels))
    )


def _in_syllables(heard: Sequence[Heard]) -> list[Heard]:
    """Those in runs without a silence that have a vowel: what has none is a click or a puff."""
    runs: list[list[Heard]] = []
    for phone in heard:
        if runs and phone.start_s - runs[-1][-1].end_s < ALONE_S:
            runs[-1].append(phone)
        else:
            runs.append([phone])
    return [phone for run in runs if any(p.phone in VOWELS for p in run) for phone in run]


def _speaks(heard: Sequence[Heard], noise: Breath, clear_db: float) -> list[Heard]:
    """The phones that speak for speech where such a noise is: in plain sound not those that it is heard as itself."""
    if clear_db < PLAIN_DB:
        return list(heard)
    if noise.kind == "smack":
        return [h for h in heard if PHONES[h.phone].manner in OF_VOICE]
    return [h for h in heard if h.phone not in OF_BREATH]


def breaths_need(samples: Samples, heard: Sequence[Heard]) -> str | None:
    """What it would take to hear breaths in this sound; None where they can be heard, or where nobody speaks."""
    if heard and clearance_db(samples) < LEAST_CLEAR_DB:
        return "a recording with less noise or music under it; this one is too noisy to hear breaths"
    return None


def _voiced(phone: Heard, voiced: Bools) -> bool:
    part = voiced[round(phone.start_s / FRAME_S) : round(phone.end_s / FRAME_S)]
    return bool(len(part) and part.mean() >= LEAST_VOICED)


def _phones_in(noise: Breath, heard: Sequence[Heard]) -> float:
    """Share of its time in which phones are heard."""
    inside = sum(max(0.0, min(h.end_s, noise.end_s) - max(h.start_s, noise.start_s)) for h in heard)
    return inside / max(noise.end_s - noise.start_s, 1e-6)


def _near_word(noise: Breath, words: Sequence[Word]) -> bool:
    return any(w.start_s < noise.end_s + BESIDE_S and w.end_s > noise.start_s - BESIDE_S for w in words)


def _near_vowels(noise: Breath, vowels: Sequence[tuple[float, float]]) -> bool:
    """On one side: what goes on through the noise is no speaker that stops for breath. Before it, where air goes out."""
    before = sum(noise.start_s - BESIDE_S < end <= noise.start_s for _, end in vowels)
    after = sum(noise.end_s <= start < noise.end_s + BESIDE_S for start, _ in vowels)
    return (before if noise.kind == "exhale" else max(before, after)) >= FEWEST_VOWELS
