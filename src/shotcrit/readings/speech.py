"""Who speaks when, as checks on mouths and breaths need it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shotcrit.clock import FrameClock, Span
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Phone, Word

LONGEST_JOIN_S = 0.6
"""Pauses up to this within a line do not split it (guess: a comma's pause is a quarter of a second, a breath's over half)."""


@dataclass(frozen=True)
class Speech:
    """A stretch that one character speaks without a long pause. phones carry their place in the shot's list, for saying in which word they are."""

    who: str
    line: int
    start_s: float
    end_s: float
    phones: tuple[Phone, ...]
    span: Span


def speaker_of(word: Word, mouths: Sequence[Acting]) -> str | None:
    """Whose word it is: as the lines say; without a name the only character with a mouth; else unknown."""
    if word.who is not None:
        return word.who
    return mouths[0].who if len(mouths) == 1 else None


def speakers(readings: Readings) -> tuple[str, ...]:
    """Who is named in the lines and was heard, each once, in the order in which they speak."""
    words = readings.sound.words if readings.sound is not None else ()
    return tuple(dict.fromkeys(word.who for word in words if word.who is not None))


def speeches(readings: Readings, who: str, mouths: Sequence[Acting]) -> tuple[Speech, ...]:
    """The stretches that `who` speaks, in order, as far as they lie over pictures."""
    sound = readings.sound
    if sound is None:
        return ()
    own = [p for p in sound.phones if p.word is not None and speaker_of(sound.words[p.word], mouths) == who]
    groups: list[list[Phone]] = []
    for phone in sorted(own, key=lambda p: p.start_s):
        joined = (
            groups and phone.start_s - groups[-1][-1].end_s <= LONGEST_JOIN_S and _line(readings, phone) == _line(readings, groups[-1][-1])
        )
        if joined:
            groups[-1].append(phone)
        else:
            groups.append([phone])
    found = [_speech(readings.clock, who, _line(readings, group[0]), group) for group in groups]
    return tuple(speech for speech in found if speech is not None)


def _line(readings: Readings, phone: Phone) -> int:
    if readings.sound is None or phone.word is None:
        return -1
    return readings.sound.words[phone.word].line


def _speech(clock: FrameClock, who: str, line: int, group: list[Phone]) -> Speech | None:
    span = clock.frames(group[0].start_s, group[-1].end_s)
    if span is None:
        return None
    return Speech(who, line, group[0].start_s, group[-1].end_s, tuple(group), span)


def word_text(readings: Readings, phone: Phone) -> str:
    """The word that a phone belongs to, in quotes, or 'the line'."""
    if readings.sound is None or phone.word is None:
        return "the line"
    return f"“{readings.sound.words[phone.word].text}”"
