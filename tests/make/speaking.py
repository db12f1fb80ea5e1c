"""Faces that speak a line with planted faults, as pictures by two unlike generators (heads, heads3d); the mouth is read from their pixels by the real reading.

No voice: the line's phones have their times by hand, as a perfect aligner would give them.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.events import Phone, Word
from shotcrit.readings.picture.acting import acting_from_marks
from tests.make.heads import Card, paint
from tests.make.heads3d import Heads, Pose, render
from tests.make.mouths import blended
from tests.make.played import MOUTH, Played, placed_cast
from tests.make.two_hander import movie_info

RATE = 24
START_S = 0.25
LINE = (("now", "N AW1"), ("Dad", "D AE1 D"), ("wants", "W AA1 N T"), ("four", "F AO1 R"), ("moons", "M UW1 N"))
"""Words and phones; each phone as long as its kind takes below."""
VOWEL_S, CONSONANT_S = 0.17, 0.085
SILENCE_S = 0.9
DRAWN, SOLID = (230, 250), (180, 190)
"""px; the mouths are some 55 and 43 px wide."""


def line() -> tuple[tuple[Word, ...], tuple[Phone, ...], FrameClock]:
    """Ada's line, and a clock that goes on for SILENCE_S after it."""
    words, phones, at = [], [], START_S
    for index, (text, said) in enumerate(LINE):
        begin = at
        for name in said.split():
            long = VOWEL_S if name[-1].isdigit() else CONSONANT_S
            phones.append(Phone(name.rstrip("1"), 1 if name[-1].isdigit() else None, index, at, at + long))
            at += long
        words.append(Word(text, "Ada", begin, at))
    return tuple(words), tuple(phones), FrameClock.for_sound(Fraction(RATE), Fraction(at + SILENCE_S).limit_denominator(1000))


def at_phone(name: str, nth: int = 0) -> np.ndarray:
    """Frame indices of the nth phone of that name, one frame more on each side."""
    _, phones, clock = line()
    phone = [p for p in phones if p.phone == name][nth]
    starts = np.array([float(edge) for edge in clock.edges[:-1]])
    return np.flatnonzero((starts > phone.start_s - 1 / RATE) & (starts < phone.end_s + 1 / RATE))


def wanted() -> tuple[np.ndarray, np.ndarray]:
    """Opening and width [shape=(n_frames,)] of a mouth that does what the line asks for."""
    _, phones, clock = line()
    opening, width = blended(phones, clock)
    return opening.copy(), width.copy()


def drawn(opening: np.ndarray, width: np.ndarray) -> Heads:
    """The head on a card, swaying a little."""
    cards = []
    for index, (gap, wide) in enumerate(zip(opening, width, strict=True)):
        t = index / RATE
        cards.append(Card(200, (115 + 4 * np.sin(3 * t), 95 + 2 * np.sin(2 * t)), 2 * np.sin(2 * t), opening=gap, width=wide))
    return paint(cards, DRAWN)


def solid(opening: np.ndarray, width: np.ndarray) -> Heads:
    """The ray-cast head, turning a little."""
    poses = []
    for index, (gap, wide) in enumerate(zip(opening, width, strict=True)):
        t = index / RATE
        poses.append(Pose((3 * np.sin(2 * t), 2 * np.sin(3 * t), 0), (0, -0.02, 1.7), opening=gap, width=wide))
    return render(poses, SOLID)


def speaking(make: Callable[[np.ndarray, np.ndarray], Heads], opening: np.ndarray, width: np.ndarray) -> Readings:
    """Ada as seen: four marks of the mouth on a shut frame, on the most open and on the widest, and the face's marks on the first.

    opening, width : of the first frames of the line's clock; the film ends with them
    """
    film = make(opening, width)
    frames = sorted({int(np.argmin(film.opening)), int(np.argmax(film.opening)), int(np.argmax(film.width))})
    cast = placed_cast(film, 0, frames)
    face = cast.characters[0]
    marks = {
        n: p for n, p in face.marks.items() if n in (*MOUTH, "nose", "chin", "head_top", "brow_left", "brow_right", "eye_left", "eye_right")
    }
    (ada,) = acting_from_marks(Played(film.frames), cast.model_copy(update={"characters": (face.model_copy(update={"marks": marks}),)}), ())
    return as_readings(ada, len(opening))


def as_readings(ada: Acting, frames: int) -> Readings:
    """Ada's acting with the line's sound."""
    words, phones, _ = line()
    sound = SoundReadings(words=words, phones=phones, wave=np.zeros((0, 1, 2), np.float32))
    cast = parse_cast({"characters": [{"name": "Ada"}]}, name="generated")
    return Readings(movie=movie_info(frames), clock=FrameClock.steady(Fraction(RATE), frames), sound=sound, cast=cast, acting=(ada,))
