"""Faces as the picture's reading would give them, without a picture: mouths that speak random phones, more or less late, and mouths that listen.

The noise is that of a found mouth.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock, Span
from shotcrit.readings.acting import Mouth
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Phone, Word
from shotcrit.readings.faces import FoundFace
from shotcrit.readings.sound.articulation import wanted_mouth

RATE = 24
CONSONANTS = ("M", "B", "P", "F", "V", "T", "D", "S", "K", "N", "L", "W", "R", "TH", "SH", "HH")
VOWELS = ("AA", "AE", "AH", "EH", "IH", "IY", "OW", "UW", "EY", "AY", "AO", "ER")
NOISE = 0.55
"""Of the opening's own deviation, smooth over three frames: a found mouth then correlates 0.88 with the truth, as measured."""


def said(parts: list[tuple[str | None, float, float]], rng: np.random.Generator) -> SoundReadings:
    """Random syllables of people: (who, from, to) in seconds."""
    words: list[Word] = []
    phones: list[Phone] = []
    for line, (who, begin, end) in enumerate(parts):
        at = begin
        while at < end:
            start = at
            for kinds, usual in ((CONSONANTS, 0.08), (VOWELS, 0.13)):
                long = usual * float(rng.uniform(0.6, 1.6))
                phones.append(Phone(str(rng.choice(kinds)), 1 if kinds is VOWELS else None, len(words), at, at + long))
                at += long
            words.append(Word("la", who, start, at, line=line))
            at += float(rng.choice([0, 0, 0, 0.15]))
    return SoundReadings(words=tuple(words), phones=tuple(phones))


def clock(seconds: float) -> FrameClock:
    return FrameClock.steady(Fraction(RATE), int(seconds * RATE))


def speaking(
    sound: SoundReadings, who: str | None, frames: int, rng: np.random.Generator, *, late: float = 0.0, noise: float = NOISE
) -> npt.NDArray[np.float64]:
    """The opening of a found mouth that speaks what is `who`'s, `late` frames after the sound."""
    own = [p for p in sound.phones if p.word is not None and sound.words[p.word].who == who]
    opening = 0.7 * wanted_mouth(own, np.arange(frames) / RATE - late / RATE).opening
    return np.maximum(opening + noise * opening.std() * _smooth(frames, rng), 0)


def listening(frames: int, rng: np.random.Generator, *, restless: float = 0.02) -> npt.NDArray[np.float64]:
    """A mouth that says nothing. restless : how much it moves all the same, of its width"""
    return np.asarray(0.05 + restless * np.abs(_smooth(frames, rng)), np.float64)


def _smooth(frames: int, rng: np.random.Generator) -> npt.NDArray[np.float64]:
    return np.convolve(rng.standard_normal(frames + 2), np.ones(3) / np.sqrt(3), "valid")


def face(
    number: int, opening: npt.NDArray[np.float64], *, start: int = 0, hue: float = 0.0, x: float = 0.5, who: str | None = None
) -> FoundFace:
    """A face over the frames of its mouth. hue : turns its looks, so that faces 1 apart are unlike; who : said by a person"""
    frames = len(opening)
    full = lambda value: np.full(frames, value, np.float32)  # noqa: E731
    mouth = Mouth(opening.astype(np.float32), full(1), full(0.05), full(0.05), full(0.0))
    looks = np.array([[200 + 60 * np.sin(hue + c + k / 9) for c in range(3)] for k in range(36)], np.float32)
    middle = np.tile(np.array([x, 0.4], np.float32), (frames, 1))
    points = {name: middle + np.array(shift, np.float32) for name, shift in (("mouth_left", (0.02, 0.05)), ("mouth_right", (-0.02, 0.05)))}
    span = Span(start, start + frames)
    return FoundFace(number, span, middle, full(0.1), full(0), mouth, points, looks, who=who, said=who is not None, worth={"shut": start})
