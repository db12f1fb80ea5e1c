"""A file of lines: plain text, a screenplay's page, WebVTT or SubRip. Which of them it is, its text says.

In plain text one speech stands on a row, 'Name: words'. The name may be left out, blank rows and rows that start with '#' are
skipped, and a speech that itself has a colon near its start is written with an empty name (': Listen: the wind.'). In all forms
[word|W ER D] sets how a word is said, in the phones of the CMU Pronouncing Dictionary; (stage directions), [of these] <kinds>
*sighs* are not spoken.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from pathlib import Path

from shotcrit.errors import InputError
from shotcrit.plain_file import read_plain
from shotcrit.readings.sound.cues import is_subrip, subrip_lines, webvtt_lines
from shotcrit.readings.sound.given import GivenLine
from shotcrit.readings.sound.screenplay import is_screenplay, screenplay_lines
from shotcrit.readings.sound.speakers import named_speech
from shotcrit.readings.sound.written import speech

BIGGEST_FILE = 4 * 2**20
"""Bytes; an hour of dialogue is about 60 kB (guess: what is over this is no lines file)."""
MOST_WORDS = 20_000
"""Words in one file; two hours of talk at 150 words a minute (Klatt 1976)."""


def read_lines(path: Path) -> tuple[GivenLine, ...]:
    """Read a lines file. Raises InputError, one sentence, for anything that holds no lines."""
    return parse_lines(lines_text(path), name=str(path))


def lines_text(path: Path) -> str:
    """The text of a lines file. Raises InputError, one sentence, for what is no text."""
    over = "which no lines file needs; give plain text or WebVTT"
    data = read_plain(path, most=BIGGEST_FILE, over=over, give="a lines file that exists")
    return _decode(data, str(path))


def _decode(data: bytes, name: str) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{name} is UTF-16 text; save the lines as UTF-8")
    if b"\0" in data:
        raise InputError(f"{name} is not text; give the lines as plain text or WebVTT")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise InputError(f"{name} is not UTF-8 text (line {line}); save the lines as UTF-8") from problem


def parse_lines(text: str, *, name: str = "the lines") -> tuple[GivenLine, ...]:
    """Lines from text. `name` says in errors where the text came from."""
    tidy = unicodedata.normalize("NFC", text.removeprefix("\ufeff")).replace("\0", " ")
    found = tuple(_lines(tidy, name))
    if not found:
        raise InputError(f"{name} holds no spoken words; write one speech a line, as Name: words")
    if sum(len(line.words) for line in found) > MOST_WORDS:
        raise InputError(f"{name} has over {MOST_WORDS} words, too many for one shot; give only what is said in it")
    return found


def _lines(text: str, name: str) -> Iterator[GivenLine]:
    if text.lstrip().startswith("WEBVTT"):
        return webvtt_lines(text, name)
    if is_subrip(text):
        return subrip_lines(text, name)
    if is_screenplay(text):
        return screenplay_lines(text, name)
    return _plain_lines(text, name)


def _plain_lines(text: str, name: str) -> Iterator[GivenLine]:
    for number, row in enumerate(text.splitlines(), 1):
        row = row.strip()
        if row and not row.startswith("#"):
            who, said = named_speech(row)
            yield from speech(said, who, f"{name}, line {number}")
