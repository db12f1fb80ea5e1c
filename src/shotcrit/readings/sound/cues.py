"""Lines with times of their own: WebVTT (W3C) and SubRip, the form that most subtitle programs write."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import webvtt
import webvtt.models
from webvtt.errors import MalformedCaptionError, MalformedFileError

from shotcrit.errors import InputError
from shotcrit.readings.sound.given import GivenLine
from shotcrit.readings.sound.speakers import named_speech
from shotcrit.readings.sound.written import speech

_VOICE = re.compile(r"<v(?:\.[^\s>]*)?[ \t]+([^>]*)>")
_TAG = re.compile(r"</?[a-zA-Z0-9.:]*[^>]*>")
_SUBRIP_TAG = re.compile(r"</?(?:[biu]|font)\b[^>]*>|\{\\[^{}]*\}", re.IGNORECASE)
_TIME = r"(\d{1,3}):(\d{1,2}):(\d{1,2})(?:[,.](\d{1,3}))?"
_TIMES = re.compile(rf"\s*{_TIME}\s*-->\s*{_TIME}(?:\s.*)?")
_TURN = re.compile(r"\s*[-\u2010\u2013\u2014]\s*(?=\S)")
"""A dash at the start of a row: another speaker's turn in the same cue."""


def webvtt_lines(text: str, name: str) -> Iterator[GivenLine]:
    """The speeches of a WebVTT text. Raises InputError, one sentence, for a cue that cannot be read."""
    try:
        captions = list(webvtt.from_string(text.lstrip()))
    except (MalformedFileError, MalformedCaptionError, ValueError, IndexError) as problem:
        raise InputError(f"{name} is not WebVTT ({str(problem).splitlines()[0] if str(problem) else 'unreadable'}); mend it") from problem
    if len(captions) != sum("-->" in row for row in text.splitlines()):
        raise InputError(f"{name} has a cue whose times cannot be read; write them as 00:01.500 --> 00:03.250")
    for number, cue in enumerate(captions, 1):
        start, end = _in_order(_seconds(cue.start_time), _seconds(cue.end_time), name, number)
        for who, said in _voices(cue.raw_text):
            yield from speech(said, who, f"{name}, cue {number}", start, end)


def _in_order(start: float, end: float, name: str, number: int) -> tuple[float, float]:
    if end <= start:
        raise InputError(f"{name}: cue {number} ends before it starts; mend its times")
    return start, end


def _seconds(time: webvtt.models.Timestamp) -> float:
    return float(time.hours * 3600 + time.minutes * 60 + time.seconds) + time.milliseconds / 1000


def _voices(raw: str) -> Iterator[tuple[str | None, str]]:
    """The speeches of one cue: each <v Name> starts one."""
    parts = _VOICE.split(raw)
    for who, said in zip([None, *parts[1::2]], parts[0::2], strict=True):
        yield (who.strip() or None) if who else None, _TAG.sub(" ", said).replace("&amp;", "&").replace("&nbsp;", " ")


@dataclass(frozen=True)
class _Cue:
    start_s: float
    end_s: float
    rows: tuple[str, ...]


def is_subrip(text: str) -> bool:
    """Whether one of the first two rows that hold anything tells a cue's times."""
    rows = [row for row in text.splitlines() if row.strip()][:2]
    return any("-->" in row for row in rows)


def subrip_lines(text: str, name: str) -> Iterator[GivenLine]:
    """The speeches of a SubRip text. Rows that begin with a dash are another speaker's. Raises InputError for times that cannot be read."""
    for number, cue in enumerate(_subrip_cues(text, name), 1):
        for turn in _turns(cue.rows):
            who, said = named_speech(turn)
            yield from speech(said, who, f"{name}, cue {number}", cue.start_s, cue.end_s)


def _subrip_cues(text: str, name: str) -> Iterator[_Cue]:
    rows = text.splitlines()
    heads = [i for i, row in enumerate(rows) if "-->" in row]
    for number, (at, following) in enumerate(zip(heads, [*heads[1:], len(rows) + 1], strict=True), 1):
        times = _TIMES.fullmatch(rows[at])
        if times is None:
            raise InputError(f"{name} has a cue whose times cannot be read (line {at + 1}); write them as 00:00:01,500 --> 00:00:03,250")
        parts = times.groups()
        start, end = _in_order(_subrip_s(*parts[:4]), _subrip_s(*parts[4:]), name, number)
        said = [_SUBRIP_TAG.sub("", row).strip() for row in rows[at + 1 : following]]
        yield _Cue(start, end, tuple(_without_number(said, following <= len(rows))))


def _subrip_s(hours: str, minutes: str, seconds: str, parts: str | None) -> float:
    return int(hours) * 3600 + int(minutes) * 60 + int(seconds) + int((parts or "").ljust(3, "0")) / 1000


def _without_number(rows: list[str], more: bool) -> list[str]:
    """The rows of a cue, without the number of the next one."""
    filled = [row for row in rows if row]
    return filled[:-1] if more and filled and filled[-1].isdigit() else filled


def _turns(rows: tuple[str, ...]) -> Iterator[str]:
    """What each speaker says in a cue: rows run on until one begins with a dash or a name of its own."""
    turn = ""
    for row in rows:
        bare = _TURN.sub("", row, count=1)
        if turn and (bare != row or named_speech(row)[0] is not None):
            yield turn
            turn = ""
        turn = f"{turn} {bare}".strip()
    if turn:
        yield turn
