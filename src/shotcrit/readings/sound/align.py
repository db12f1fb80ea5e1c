"""Words and phones of the given lines in the sound: find each line, align it, and say how sure that is.

A line that was not spoken as written is reported (`heard` False, with a sentence why) and gets no words: nothing is bent to fit.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shotcrit.progress import Progress, Quiet
from shotcrit.readings.events import Line, Phone, Word
from shotcrit.readings.sound.denoise import without_noise
from shotcrit.readings.sound.force import Timed, align_words
from shotcrit.readings.sound.given import GivenLine, GivenWord, Phones
from shotcrit.readings.sound.listen import Heard, hear_phones
from shotcrit.readings.sound.numbers import spoken_number
from shotcrit.readings.sound.phoneset import likeness, split_stress
from shotcrit.readings.sound.place import Place, codes, place_lines
from shotcrit.readings.sound.pronounce import ways_to_say
from shotcrit.readings.sound.spoken import Spoken
from shotcrit.readings.sound.tongue import foreign_words
from shotcrit.readings.sound.waveform import RATE, Samples

CUE_SLACK_S = 0.3
"""Seconds that speech may run out of its cue: cue times are typed by hand (guess)."""
ROOM_S = 0.35
"""Seconds of sound given to the aligner on both sides of where a line was heard, neighbours permitting (guess)."""
SURE_FIT = 0.6
"""Gain per phone from which a line is certain; the five synthetic voices' mean is 0.6 to 0.8 when the line is right."""
WORD_DOUBT = 0.4
"""A word's doubt is this less its confidence, times its phones; below 0 it speaks for the words around it."""
TOO_DOUBTFUL, DOUBTFUL = 2.0, 1.2
"""Largest doubt of neighbouring words together, from which a line was not spoken as written, and from which those words are mentioned.
Measured: right lines of four synthetic voices up to 1.0 (also with room tone at -25 dB), of a reader up to 1.5; lines with their last third
exchanged 0.7 to 4.7, three in four above 1.7."""
_NEAR_S = 0.04
"""Seconds by which the two aligners may differ on a phone; one frame at 24 fps."""


Ways = tuple[tuple[Phones, ...], ...]


def align_lines(samples: Samples, lines: Sequence[GivenLine], *, progress: Progress | None = None) -> Spoken:
    """Find and align the lines. samples : float32 [shape=(n,)] at 16 kHz. Times in the result count from sample 0."""
    told = progress or Quiet()
    samples = without_noise(samples)
    heard = hear_phones(samples, told)
    ways: list[Ways] = [tuple(ways_to_say(w) for w in line.words) for line in lines]
    places = _places(lines, ways, heard)
    spoken = Spoken()
    for index, (line, foreign) in enumerate(zip(lines, foreign_words(lines), strict=True)):
        told.step("aligning the lines", index, len(lines))
        one = _unheard(line, foreign) if foreign else _align_one(index, line, ways[index], places, heard, samples)
        spoken = _joined(spoken, one)
    told.step("aligning the lines", len(lines), len(lines))
    return _with_order_noted(spoken)


def _places(lines: Sequence[GivenLine], ways: Sequence[Ways], heard: Sequence[Heard]) -> list[Place | None]:
    """Where each line was heard. Lines with cue times are looked for inside their cues, the rest in what is left, in order."""
    phones = [codes([split_stress(p)[0] for word in w for p in word[0]]) for w in ways]
    places: list[Place | None] = [None] * len(lines)
    cues = sorted({(x.start_s, x.end_s) for x in lines if x.start_s is not None and x.end_s is not None})
    for start, end in cues:
        inside = [i for i, h in enumerate(heard) if h.start_s >= start - CUE_SLACK_S and h.end_s <= end + CUE_SLACK_S]
        own = [i for i, x in enumerate(lines) if (x.start_s, x.end_s) == (start, end)]
        if inside:
            first = inside[0]
            for i, place in zip(own, place_lines([phones[i] for i in own], heard[first : inside[-1] + 1]), strict=True):
                places[i] = place and replace(place, first=place.first + first, stop=place.stop + first)
    free = [i for i, x in enumerate(lines) if x.start_s is None or x.end_s is None]
    for i, place in zip(free, place_lines([phones[i] for i in free], heard), strict=True):
        places[i] = place
    return places


def _window(index: int, line: GivenLine, places: Sequence[Place | None], heard: Sequence[Heard], length_s: float) -> tuple[float, float]:
    """The seconds of sound that a placed line is aligned in."""
    place = places[index]
    assert place is not None
    first, last = heard[place.first], heard[place.stop - 1]
    others = [p for i, p in enumerate(places) if p is not None and i != index]
    before = [heard[p.stop - 1].end_s for p in others if p.stop <= place.first]
    after = [heard[p.first].start_s for p in others if p.first >= place.stop]
    start = max([0.0, first.start_s - ROOM_S, *before])
    end = min([length_s, last.end_s + ROOM_S, *after])
    if line.start_s is not None and line.end_s is not None:
        start, end = max(start, line.start_s - CUE_SLACK_S), min(end, line.end_s + CUE_SLACK_S)
    return min(start, first.start_s), max(end, last.end_s)


def _align_one(index: int, line: GivenLine, ways: Ways, places: Sequence[Place | None], heard: Sequence[Heard], samples: Samples) -> Spoken:
    strange = next((w for w in line.words if not _sayable(w)), None)
    if strange is not None:
        return _unheard(line, f"'{strange.text}' has no English pronunciation; write it as [{strange.text}|W ER D], or give a TextGrid")
    place = places[index]
    if place is None:
        return _unheard(line, _nowhere(line, heard))
    start, end = _window(index, line, places, heard, len(samples) / RATE)
    timed = align_words(samples[round(start * RATE) : round(end * RATE)], ways)
    if timed is None:
        return _unheard(line, "the words do not fit into the time in which something like them was heard")
    spoken = _read_out(index, line, ways, timed, start, heard, place.fit)
    doubt, doubted = _doubted(spoken)
    if doubt >= TOO_DOUBTFUL:
        return _unheard(line, f"only part of it was heard; '{doubted}' sounds otherwise", place.fit)
    if doubt >= DOUBTFUL:
        noted = replace(spoken.lines[0], problem=f"it was heard, but '{doubted}' may have been said otherwise")
        return replace(spoken, lines=(noted,))
    return spoken


def _sayable(word: GivenWord) -> bool:
    return word.phones is not None or bool(re.search("[A-Za-zÀ-ž&@%]", word.text)) or spoken_number(word.text.strip("'")) is not None


def _nowhere(line: GivenLine, heard: Sequence[Heard]) -> str:
    if not heard:
        return "no speech was heard in this sound"
    if line.start_s is not None and line.end_s is not None:
        return f"nothing like it was heard in its cue, {line.start_s:.2f} to {line.end_s:.2f} s"
    return "nothing like it was heard"


def _unheard(line: GivenLine, problem: str, fit: float = 0.0) -> Spoken:
    return Spoken((Line(line.text, line.who, False, _sureness(fit) / 2, line.start_s, line.end_s, problem),))


def _sureness(fit: float) -> float:
    return float(np.clip(fit / SURE_FIT, 0.0, 1.0))


def _read_out(index: int, line: GivenLine, ways: Ways, timed: Sequence[Timed], start: float, heard: Sequence[Heard], fit: float) -> Spoken:
    """The aligner's answer as words and phones; `word` of the phones counts within this line."""
    words: list[Word] = []
    phones: list[Phone] = []
    for number, (given, word) in enumerate(zip(line.words, timed, strict=True)):
        said = ways[number][word.way]
        found = [
            Phone(name, split_stress(symbol)[1], number, start + a, start + b)
            for symbol, (name, a, b) in zip(said, word.phones, strict=True)
        ]
        sure = _agreement(found, heard) * (0.5 if word.spread else 1.0)
        words.append(Word(given.text, line.who, start + word.start_s, start + word.end_s, sure, index))
        phones += found
    heard_line = Line(line.text, line.who, True, _sureness(fit), words[0].start_s, words[-1].end_s)
    return Spoken((heard_line,), tuple(words), tuple(phones))


def _agreement(phones: Sequence[Phone], heard: Sequence[Heard]) -> float:
    """0..1: how far the free phones at the same time speak for these ones; mean of each phone's best likeness, 0 where none was heard."""
    total = 0.0
    for phone in phones:
        near = (h.phone for h in heard if h.start_s < phone.end_s + _NEAR_S and h.end_s > phone.start_s - _NEAR_S)
        total += max((likeness(phone.phone, n) for n in near), default=0.0)
    return float(np.clip(total / len(phones), 0.0, 1.0))


def _doubted(spoken: Spoken) -> tuple[float, str]:
    """The largest doubt of neighbouring words together (the maximum-sum run), and those words."""
    best, start, stop = 0.0, 0, 0
    total, first = 0.0, 0
    for i, word in enumerate(spoken.words):
        total += sum(p.word == i for p in spoken.phones) * (WORD_DOUBT - word.confidence)
        if total <= 0:
            total, first = 0.0, i + 1
        elif total > best:
            best, start, stop = total, first, i + 1
    return best, " ".join(w.text for w in spoken.words[start:stop])


def _joined(one: Spoken, two: Spoken) -> Spoken:
    moved = tuple(replace(p, word=None if p.word is None else p.word + len(one.words)) for p in two.phones)
    return Spoken(one.lines + two.lines, one.words + two.words, one.phones + moved)


def _with_order_noted(spoken: Spoken) -> Spoken:
    """Words and phones in the order of time; a line spoken before the one it follows says so in `problem`."""
    lines: list[Line] = []
    latest = -1.0
    for line in spoken.lines:
        if line.heard and line.start_s is not None:
            start = line.start_s
            if start < latest:
                line = replace(line, problem="it was heard, but earlier than the line before it; put the lines in the order of the shot")
            latest = max(latest, start)
        lines.append(line)
    order = sorted(range(len(spoken.words)), key=lambda i: (spoken.words[i].start_s, i))
    rank = {old: new for new, old in enumerate(order)}
    phones = sorted((replace(p, word=None if p.word is None else rank[p.word]) for p in spoken.phones), key=lambda p: p.start_s)
    return Spoken(tuple(lines), tuple(spoken.words[i] for i in order), tuple(phones))
