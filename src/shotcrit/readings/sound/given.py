"""The lines as given: plain text, one speech a line ('Name: words'), or WebVTT with voice tags.

In plain text the name may be left out, blank lines and lines that start with '#' are skipped, and a speech that itself has
a colon near its start is written with an empty name (': Listen: the wind.'). In both forms [word|W ER D] sets how a word
is said, in the phones of the CMU Pronouncing Dictionary; (stage directions) are not spoken.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import webvtt
import webvtt.models
from webvtt.errors import MalformedCaptionError, MalformedFileError

from shotcrit.errors import InputError
from shotcrit.readings.sound.phoneset import split_stress

BIGGEST_FILE = 4 * 2**20
"""Bytes; an hour of dialogue is about 60 kB (guess: what is over this is no lines file)."""
MOST_WORDS = 20_000
"""Words in one file; two hours of talk at 2.10's 150 words a minute (references.md)."""
LONGEST_WORD = 60
"""Letters; the longest word of the pronouncing dictionary has 28."""

Phones = tuple[str, ...]


@dataclass(frozen=True)
class GivenWord:
    """A word as written, and how to say it where the line says so: phones with or without stress digits, else None."""

    text: str
    phones: Phones | None = None


@dataclass(frozen=True)
class GivenLine:
    """One speech. start_s, end_s bound the search, in seconds from the start of the sound; None where not given."""

    text: str
    who: str | None
    words: tuple[GivenWord, ...]
    start_s: float | None = None
    end_s: float | None = None


_NAME = re.compile(r"([^\W\d_][^:\[\]|()]{0,39})?:\s+(.*)")
_VOICE = re.compile(r"<v(?:\.[^\s>]*)?[ \t]+([^>]*)>")
_TAG = re.compile(r"</?[a-zA-Z0-9.:]*[^>]*>")
_SAID = re.compile(r"\[([^\[\]|]*)\|([^\[\]|]*)\]")
_DIRECTION = re.compile(r"\([^()]*\)|\[[^\[\]|]*\]")
_BREAKS = re.compile(r"\s+|[\u2012-\u2015]|--+|\.\.+|\u2026|/")
_EDGES = re.compile(r"^[^\w$£€'&@]+|[^\w%'&]+$")


_WRITTEN = tuple(
    (re.compile(written), spoken)
    for written, spoken in (
        (r"(?<=\d) ?\u00bd|(?<=\d) 1/2(?![\d/])", " and a half"),
        (r"\u00bd|(?<![\d/])1/2(?![\d/])", " a half"),
        (r"(?<=\d) (?:1/4)(?![\d/])|(?<=\d) ?\u00bc", " and a quarter"),
        (r"\u00bc|(?<![\d/])1/4(?![\d/])", " a quarter"),
        (r"\u00be|(?<![\d/])3/4(?![\d/])", " three quarters"),
        (r"(?<!\S)[-\u2212](?=\d)", "minus "),
    )
)
"""Signs that stand for words of their own, and the words."""


def read_lines(path: Path) -> tuple[GivenLine, ...]:
    """Read a lines file. Raises InputError, one sentence, for anything that holds no lines."""
    return parse_lines(lines_text(path), name=str(path))


def lines_text(path: Path) -> str:
    """The text of a lines file. Raises InputError, one sentence, for what is no text."""
    try:
        if path.stat().st_size > BIGGEST_FILE:
            raise InputError(f"{path} is over {BIGGEST_FILE >> 20} MB, which no lines file needs; give plain text or WebVTT")
        data = path.read_bytes()
    except OSError as problem:
        raise InputError(f"{path} cannot be read ({problem.strerror or problem}); give a lines file that exists") from problem
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
    """Lines from text; WebVTT when it starts with that word. `name` says in errors where the text came from."""
    tidy = unicodedata.normalize("NFC", text.removeprefix("\ufeff"))
    found = tuple(_webvtt_lines(tidy, name) if tidy.lstrip().startswith("WEBVTT") else _plain_lines(tidy, name))
    if not found:
        raise InputError(f"{name} holds no spoken words; write one speech a line, as Name: words")
    if sum(len(line.words) for line in found) > MOST_WORDS:
        raise InputError(f"{name} has over {MOST_WORDS} words, too many for one shot; give only what is said in it")
    return found


def _plain_lines(text: str, name: str) -> Iterator[GivenLine]:
    for number, row in enumerate(text.splitlines(), 1):
        row = row.strip()
        if not row or row.startswith("#"):
            continue
        named = _NAME.fullmatch(row)
        who, said = (named[1], named[2]) if named else (None, row)
        words = split_words(said, where=f"{name}, line {number}")
        if words:
            yield GivenLine(_shown(said), who.strip() if who else None, words)


def _webvtt_lines(text: str, name: str) -> Iterator[GivenLine]:
    try:
        captions = list(webvtt.from_string(text.lstrip()))
    except (MalformedFileError, MalformedCaptionError, ValueError, IndexError) as problem:
        raise InputError(f"{name} is not WebVTT ({str(problem).splitlines()[0] if str(problem) else 'unreadable'}); mend it") from problem
    if len(captions) != sum("-->" in row for row in text.splitlines()):
        raise InputError(f"{name} has a cue whose times cannot be read; write them as 00:01.500 --> 00:03.250")
    for number, cue in enumerate(captions, 1):
        start, end = _seconds(cue.start_time), _seconds(cue.end_time)
        if end <= start:
            raise InputError(f"{name}: cue {number} ends before it starts; mend its times")
        for who, said in _voices(cue.raw_text):
            words = split_words(said, where=f"{name}, cue {number}")
            if words:
                yield GivenLine(_shown(said), who, words, start, end)


def _seconds(time: webvtt.models.Timestamp) -> float:
    return float(time.hours * 3600 + time.minutes * 60 + time.seconds) + time.milliseconds / 1000


def _voices(raw: str) -> Iterator[tuple[str | None, str]]:
    """The speeches of one cue: each <v Name> starts one."""
    parts = _VOICE.split(raw)
    for who, said in zip([None, *parts[1::2]], parts[0::2], strict=True):
        yield (who.strip() or None) if who else None, _TAG.sub(" ", said).replace("&amp;", "&").replace("&nbsp;", " ")


def _shown(said: str) -> str:
    """The speech as people read it: pronunciations taken out."""
    return " ".join(_SAID.sub(lambda m: m[1], said).split())


def split_words(said: str, *, where: str) -> tuple[GivenWord, ...]:
    """The spoken words of a speech. Raises InputError for a pronunciation that is none."""
    words: list[GivenWord] = []
    last = 0
    for match in _SAID.finditer(said):
        words += _plain_words(said[last : match.start()], where)
        words.append(_said_word(match[1].strip(), match[2], where))
        last = match.end()
    return (*words, *_plain_words(said[last:], where))


def _said_word(text: str, phones: str, where: str) -> GivenWord:
    symbols = phones.upper().split()
    if not text or not symbols:
        raise InputError(f"{where}: '[{text}|{phones}]' is no pronunciation; write it as [word|W ER D]")
    for symbol in symbols:
        try:
            split_stress(symbol)
        except KeyError as problem:
            raise InputError(f"{where}: '{symbol}' in '[{text}|{phones}]' is no phone; see the table of phones in the docs") from problem
    return GivenWord(text[:LONGEST_WORD], tuple(symbols))


def _plain_words(text: str, where: str) -> Iterator[GivenWord]:
    text = text.replace("\u2019", "'").replace("\u2018", "'").replace("\u2010", "-").replace("\u2011", "-")
    for written, spoken in _WRITTEN:
        text = written.sub(spoken, text)
    while _DIRECTION.search(text):
        text = _DIRECTION.sub(" ", text)
    for piece in _BREAKS.split(text):
        word = _bare(piece)
        if len(word) > LONGEST_WORD:
            raise InputError(f"{where}: '{word[:20]}...' is too long for a word; put spaces between the words")
        if any(c.isalnum() for c in word) or word == "&":
            yield GivenWord(word)


def _bare(piece: str) -> str:
    """The word without the punctuation around it; apostrophes stay where they stand for letters ('bout, talkin')."""
    word = _EDGES.sub("", piece).strip('*_~^"`')
    if len(word) > 1 and word.startswith("'") and word.endswith("'"):
        word = word.strip("'")
    return _EDGES.sub("", word)
