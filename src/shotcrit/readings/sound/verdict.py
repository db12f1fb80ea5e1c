"""Was a line said? Heard; cannot be heard here; or something else was said: told apart by what fits the sound as well as the line, or better.

Each phone of the aligned line has a gain: its log likelihood a row less that of whatever phones fit best there. Where the line was said its own phones, in
their company, fit better than any (gains over 0); where it was not, far worse. No level, no length of silence and no count of phones comes into that.

The limits and certainties below were measured on 96 lines read by seventeen people and 46 takes of one who whispers, creaks and shouts, as said, with
another line in their place, and with a single longer word exchanged (288 times), and with room tone 20, 10, 5 and 0 dB under them; docs/decisions.md says how
to make the numbers anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shotcrit.readings.events import Why
from shotcrit.readings.sound.denoise import clearance_db
from shotcrit.readings.sound.force import Timed
from shotcrit.readings.sound.given import GivenLine
from shotcrit.readings.sound.listen import ROW_S, Heard, Listened
from shotcrit.readings.sound.phoneset import VOWELS
from shotcrit.readings.sound.search import Found
from shotcrit.readings.sound.waveform import RATE, Samples

SAID = -2.6
"""Mean gain of a line's phones over which it was said. Said lines: clean -0.5 and over, whispered, shouted, creaked -2.3 and over, 10 dB over room tone -2.9
and over; another line in their place: -4.8 and under, 10 dB over room tone -3.7 and under."""
NOT_SAID = -4.2
"""Under which something else was said, in a sound clear enough to say so; between the two nobody can tell."""
CLEAR_DB = 15.0
"""Loud over quiet around the line, from which what is not heard counts against the line: at 10 dB over room tone the two kinds of gain begin to meet. Music and
noise under a line keep it from having quiet parts."""
AROUND_S = 0.5
WORD_OTHERWISE = -6.6
"""Support under which a word was said otherwise: 94 % of exchanged words lie under it, and of 174 lines that were said (20 dB over room tone among them)
5 have one that does, four of them whispered, creaked or shouted."""
MOSTLY = 0.4
"""Share of a line's phones in words that were said otherwise, from which it is the line that was not said."""
WHOLE_PHONE_ROWS = 6
"""A phone of fewer rows counts less: three rows is the least that the aligner can give to one that was swallowed, and swallowing is no other word."""
FEWEST_PHONES = 0.25
"""Phones heard where a line should be, of the line's own number, under which nobody speaks there."""
LEAST_VOWELS = 0.2
"""Share of vowels among what is heard, under which it is no speech: English has about 40 % (Mines, Hanson & Shoup 1978, Language and Speech 21, from
memory)."""
LINE_MIDDLE, LINE_SLOPE = -3.26, 2.39
WORD_MIDDLE, WORD_SLOPE = -4.71, 1.08
"""Logistic regressions of 'was said' on a line's mean gain and on a word's support, both kinds weighing alike."""
DOUBT_MIDDLE, DOUBT_SLOPE = -6.68, 0.88
"""The same of 'every word was said' on the support of the line's worst word."""
SUREST = 0.97
"""Nothing is surer: of 174 lines and 288 words nothing finer can be known."""
MOST_INSTEAD = 40
"""Phones told as heard instead."""


@dataclass(frozen=True)
class Verdict:
    """heard, sure (certainty that the line was said), problem, why, instead : as in events.Line; start_s, end_s : where it was looked for."""

    heard: bool
    sure: float
    problem: str | None = None
    why: Why | None = None
    instead: str | None = None
    start_s: float | None = None
    end_s: float | None = None


def support(word: Timed) -> float:
    """Of one word: its phones' gains, added up by how much of each there is, over the root of that; 0 and over where it was said."""
    gains = np.array([p.gain for p in word.phones])
    there = np.array([min(1.0, (p.end_s - p.start_s) / ROW_S / WHOLE_PHONE_ROWS) for p in word.phones])
    return float((gains * there).sum() / np.sqrt(max(there.sum(), 1e-6)))


def sureness(word: Timed) -> float:
    """How certain it is that a word was said, 0..1."""
    return _sure(support(word), WORD_MIDDLE, WORD_SLOPE)


def _sure(value: float, middle: float, slope: float) -> float:
    return float(np.clip(1 / (1 + np.exp(np.clip(-slope * (value - middle), -50, 50))), 1 - SUREST, SUREST))


def judged(line: GivenLine, found: Found | None, sound: Listened, samples: Samples) -> Verdict:
    """The verdict on one line. samples : the sound as it is, [float32, 16 kHz]."""
    if found is None or not sound.heard:
        return Verdict(False, 1 - SUREST, "no speech was heard in this sound" if not sound.heard else _nowhere(line), "silent")
    if found.timed is None:
        return Verdict(
            False, 1 - SUREST, "there is no room for its words where it was looked for", "silent", None, found.start_s, found.end_s
        )
    gains = [p.gain for word in found.timed for p in word.phones]
    gain = float(np.mean(gains))
    start, end = found.timed[0].start_s, found.timed[-1].end_s
    clear = clearance_db(samples[round(max(0.0, start - AROUND_S) * RATE) : round((end + AROUND_S) * RATE)]) >= CLEAR_DB
    bad = [i for i, word in enumerate(found.timed) if support(word) < WORD_OTHERWISE]
    mostly = sum(len(found.timed[i].phones) for i in bad) >= MOSTLY * len(gains)
    if gain > SAID and not (mostly and clear):
        return _said(line, found.timed, bad if clear else [], gain, sound.heard)
    near = [h for h in sound.heard if h.start_s < found.end_s and h.end_s > found.start_s]
    if not _is_speech(near, len(gains)):
        return Verdict(False, 1 - SUREST, _nowhere(line), "silent", None, found.start_s, found.end_s)
    if clear and (gain < NOT_SAID or mostly):
        sure = min(_sure(gain, LINE_MIDDLE, LINE_SLOPE), _worst(found.timed))
        return Verdict(
            False, sure, _otherwise(line, found.timed, bad), "otherwise", _phones(sound.heard, found.start_s, found.end_s), start, end
        )
    return Verdict(False, _sure(gain, LINE_MIDDLE, LINE_SLOPE), _unclear(clear), "unclear", None, found.start_s, found.end_s)


def _said(line: GivenLine, timed: Sequence[Timed], bad: Sequence[int], gain: float, heard: Sequence[Heard]) -> Verdict:
    sure = _sure(gain, LINE_MIDDLE, LINE_SLOPE)
    if not bad:
        return Verdict(True, sure)
    worst = min(bad, key=lambda i: support(timed[i]))
    words = " and ".join(f"'{line.words[i].text}'" for i in bad)
    instead = _phones(heard, timed[worst].start_s, timed[worst].end_s)
    return Verdict(True, min(sure, _worst(timed)), f"it was heard, but {words} may have been said otherwise", "otherwise", instead)


def _worst(timed: Sequence[Timed]) -> float:
    """How certain it is that every word was said."""
    return _sure(min(map(support, timed)), DOUBT_MIDDLE, DOUBT_SLOPE)


def _is_speech(heard: Sequence[Heard], wanted: int) -> bool:
    vowels = sum(h.phone in VOWELS for h in heard)
    return len(heard) >= FEWEST_PHONES * wanted and vowels >= LEAST_VOWELS * len(heard)


def _phones(heard: Sequence[Heard], start_s: float, end_s: float) -> str | None:
    """What was heard most of whose time lies in a stretch, the 39 phones with blanks between."""
    inside = [h.phone for h in heard if min(h.end_s, end_s) - max(h.start_s, start_s) > (h.end_s - h.start_s) / 2]
    return " ".join(inside[:MOST_INSTEAD]) or None


def _nowhere(line: GivenLine) -> str:
    if line.start_s is not None and line.end_s is not None:
        return f"nothing like it was heard in its cue, {line.start_s:.2f} to {line.end_s:.2f} s"
    return "nothing like it was heard"


def _otherwise(line: GivenLine, timed: Sequence[Timed], bad: Sequence[int]) -> str:
    if len(bad) * 2 > len(timed):
        return f"{_nowhere(line)}; something else is said" if line.start_s is not None else "something else is said"
    return f"only part of it was heard; '{' '.join(line.words[i].text for i in bad)}' sounds otherwise"


def _unclear(clear: bool) -> str:
    if clear:
        return "what is said there is too unlike plain speech to tell"
    return "too much noise or music lies over it to tell what is said"
