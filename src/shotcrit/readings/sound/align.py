"""Words and phones of the given lines in the sound: find each line, align it, and say how sure that is.

A line that was not spoken as written is reported (`heard` False, with a sentence why) and gets no words: nothing is bent to fit.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from shotcrit.progress import Progress, Quiet
from shotcrit.readings.events import Line, Phone, Word
from shotcrit.readings.sound.denoise import without_noise
from shotcrit.readings.sound.edges import with_edges
from shotcrit.readings.sound.force import Timed
from shotcrit.readings.sound.given import GivenLine, GivenWord
from shotcrit.readings.sound.listen import Listened, listen
from shotcrit.readings.sound.numbers import spoken_number
from shotcrit.readings.sound.phoneset import split_stress
from shotcrit.readings.sound.pronounce import ways_to_say
from shotcrit.readings.sound.search import Ways, search
from shotcrit.readings.sound.spoken import Spoken
from shotcrit.readings.sound.tongue import foreign_words
from shotcrit.readings.sound.verdict import Verdict, judged, sureness
from shotcrit.readings.sound.waveform import Samples


def align_lines(samples: Samples, lines: Sequence[GivenLine], *, sound: Listened | None = None, progress: Progress | None = None) -> Spoken:
    """Find and align the lines. samples : float32 [shape=(n,)] at 16 kHz. Times in the result count from sample 0.

    sound : the same samples as listen hears them, without their noise, where that is done already
    """
    told = progress or Quiet()
    sound = sound or listen(without_noise(samples), told)
    ways: list[Ways] = [tuple(ways_to_say(w) for w in line.words) for line in lines]
    unsayable = [foreign or _strange(line) for line, foreign in zip(lines, foreign_words(lines), strict=True)]
    spoken = Spoken()
    found = search(lines, ways, sound, skip=[problem is not None for problem in unsayable])
    for index, (line, problem, place) in enumerate(zip(lines, unsayable, found, strict=True)):
        told.step("aligning the lines", index, len(lines))
        if problem is not None:
            one = Spoken((Line(line.text, line.who, False, 0.0, line.start_s, line.end_s, problem, "unsayable"),))
        else:
            verdict = judged(line, place, sound, samples)
            timed = place.timed if place is not None else None
            one = (
                _read_out(index, line, ways[index], with_edges(samples, timed), verdict)
                if verdict.heard and timed
                else _unheard(line, verdict)
            )
        spoken = _joined(spoken, one)
    told.step("aligning the lines", len(lines), len(lines))
    return _with_order_noted(spoken)


def _strange(line: GivenLine) -> str | None:
    """What to do about the first word that nobody can say from its letters; None where all can."""
    word = next((w for w in line.words if not _sayable(w)), None)
    return None if word is None else f"'{word.text}' has no English pronunciation; write it as [{word.text}|W ER D], or give a TextGrid"


def _sayable(word: GivenWord) -> bool:
    return word.phones is not None or bool(re.search("[A-Za-zÀ-ž&@%]", word.text)) or spoken_number(word.text.strip("'")) is not None


def _unheard(line: GivenLine, verdict: Verdict) -> Spoken:
    start, end = (line.start_s, line.end_s) if line.start_s is not None else (verdict.start_s, verdict.end_s)
    return Spoken((Line(line.text, line.who, False, verdict.sure, start, end, verdict.problem, verdict.why, verdict.instead),))


def _read_out(index: int, line: GivenLine, ways: Ways, timed: Sequence[Timed], verdict: Verdict) -> Spoken:
    """The aligner's answer as words and phones; `word` of the phones counts within this line."""
    words: list[Word] = []
    phones: list[Phone] = []
    for number, (given, word) in enumerate(zip(line.words, timed, strict=True)):
        said = ways[number][word.way]
        phones += [Phone(p.phone, split_stress(symbol)[1], number, p.start_s, p.end_s) for symbol, p in zip(said, word.phones, strict=True)]
        words.append(Word(given.text, line.who, word.start_s, word.end_s, sureness(word), index))
    heard = Line(line.text, line.who, True, verdict.sure, words[0].start_s, words[-1].end_s, verdict.problem, verdict.why, verdict.instead)
    return Spoken((heard,), tuple(words), tuple(phones))


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
