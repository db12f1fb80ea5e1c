"""The words of a speech as written: what is spoken of it, what is a stage direction, and pronunciations that stand in it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from shotcrit.errors import InputError
from shotcrit.readings.sound.given import GivenLine, GivenWord
from shotcrit.readings.sound.phoneset import split_stress

LONGEST_WORD = 60
"""Letters; the longest word of the pronouncing dictionary has 28."""

_SAID = re.compile(r"\[([^\[\]|]*)\|([^\[\]|]*)\]")
_BRACKETED = re.compile(r"\([^()]*\)|\[[^\[\]|]*\]|<[a-zA-Z][^<>]{0,60}>")
_STARRED = re.compile(r"(?<![\w*])\*([^*\n]{1,60})\*(?![\w*])")
_NOISES = re.compile(
    r"(?:beat|blow|breath|chok|chuckl|clear|cough|cr(?:y|ies)|exhal|gasp|giggl|groan|growl|grunt|gulp|hum|inhal|laugh|moan|mumbl|mutter|paus|scoff|"
    r"scream|shout|shriek|sigh|silen|sings?\b|singing|smack|snif|snor|snort|sob|swallow|tak(?:es|ing) a breath|tsk|wail|weep|wheez|whimper|whisper|"
    r"whistl|yawn|yell)",
    re.IGNORECASE,
)
"""How words begin that say what a voice does besides speaking (common practice in scripts and captions, no source)."""
_ENDS = re.compile(r"[.!?\u2026:;,\u2014\u2013-]\s*$")
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


def speech(said: str, who: str | None, where: str, start_s: float | None = None, end_s: float | None = None) -> Iterator[GivenLine]:
    """One speech, or none where nothing in `said` is spoken. Raises InputError for a pronunciation that is none."""
    words = split_words(said, where=where)
    if words:
        yield GivenLine(shown(said), (who or "").strip() or None, words, start_s, end_s, directions_in(said))


def shown(said: str) -> str:
    """The speech as people read it: pronunciations taken out."""
    return " ".join(_SAID.sub(lambda m: m[1], said).split())


def directions_in(said: str) -> tuple[str, ...]:
    """The stage directions of a speech, in their order, as written."""
    return tuple(" ".join(said[a:b].split()) for a, b in sorted(_directions(said)))


def split_words(said: str, *, where: str) -> tuple[GivenWord, ...]:
    """The spoken words of a speech. Raises InputError for a pronunciation that is none."""
    said = without_directions(said)
    words: list[GivenWord] = []
    last = 0
    for match in _SAID.finditer(said):
        words += _plain_words(said[last : match.start()], where)
        words.append(_said_word(match[1].strip(), match[2], where))
        last = match.end()
    return (*words, *_plain_words(said[last:], where))


def without_directions(said: str) -> str:
    """What is left of a speech when its stage directions are taken out."""
    for a, b in sorted(_directions(said), reverse=True):
        said = f"{said[:a]} {said[b:]}"
    return said


def _directions(said: str) -> list[tuple[int, int]]:
    """Where they stand, outermost ones only: '(to Ben (softly))' is one."""
    found, covered = [], said
    while match := _BRACKETED.search(covered):
        a, b = match.span()
        found.append((a, b))
        covered = covered[:a] + "\0" * (b - a) + covered[b:]
    found += [m.span() for m in _STARRED.finditer(covered) if _is_direction(covered, m)]
    return [one for one in found if not any(o != one and o[0] <= one[0] and one[1] <= o[1] for o in found)]


def _is_direction(said: str, starred: re.Match[str]) -> bool:
    """Whether *this* is done and not said; else it is a word that is leant on.

    A noise of the voice is done, unless it stands in the run of a sentence in a form that can be said ('*Cry* all you want').
    Anything else is done where it stands by itself between sentences, begins small and reads like an action ('*turns away*', '*nods*').
    """
    inside = starred[1].strip("\0 ")
    before, after = (part.replace("\0", " ").strip() for part in (said[: starred.start()], said[starred.end() :]))
    apart = (not before or bool(_ENDS.search(before))) and (not after or after[0].isupper() or not after[0].isalnum())
    if not inside or _NOISES.match(inside):
        return apart or (not before and inside.partition(" ")[0].endswith("ing")) or inside.partition(" ")[0].endswith("s") or not inside
    return apart and inside[0].islower() and (" " in inside or inside.endswith("s")) and not _ENDS.search(inside)


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
