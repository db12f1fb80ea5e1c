"""Which of the given lines are in another script or language than the aligner's English, so that they are told and not bent to fit."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from shotcrit.readings.sound.given import GivenLine

FEWEST_OWN = 2
"""Different small words of a language that a line by itself needs (guess: one may be a name or a borrowed word)."""
FEWEST_IN_ALL = 4
"""Small words of a language that all lines together need before short ones among them count as that language (guess)."""
WHAT_THEN = "only English is aligned here; give words and phones with their times as a TextGrid"
"""What can be done about such a line."""

_SMALL: dict[str, frozenset[str]] = {
    name: frozenset(words.split())
    for name, words in {
        "English": "the and you is it it's of to that that's what this with have not are we they my your was be do don't i i'm i'll for but he she his her "
        "can't will would there here just know",
        "French": "je tu il elle nous vous ils les une des du est et ne pas que qui dans avec sur c'est j'ai mais oui moi toi où ça n'y n'est",
        "German": "ich du sie wir ihr nicht und der das ist ein eine auf mit für aber ja nein noch auch mir dich mich dir bis öl",
        "Spanish": "yo tú el una que es en por para con pero sí está qué muy lo eres estoy nada aquí toda",
        "Italian": "io il gli una che non è per con ma sono sì questo cosa ancora hai detto tutta della nella",
        "Portuguese": "eu você os um uma que não é em por para com mas está sim isso muito aqui ainda",
        "Dutch": "ik jij je het een en niet dat maar voor wij zij hij wat zijn nog",
        "Swedish": "jag du det är inte och som på med för hon mig om fortfarande",
        "Polish": "nie się jest że na co jak ja ty tak czy jeszcze już",
    }.items()
}
"""Small words that nearly every sentence has; those of other languages are no English ones (from memory: any grammar's function words)."""
_ENGLISH = _SMALL.pop("English")


def foreign_words(lines: Sequence[GivenLine]) -> list[str | None]:
    """For each line one clause on why it cannot be aligned, or None for English ones and such as nothing tells."""
    counts = [_counts(line) for line in lines]
    together = {name: sum(own[name] for own, _ in counts) for name in _SMALL}
    most = max(together, key=together.__getitem__)
    all_of_them = together[most] >= FEWEST_IN_ALL and together[most] > 3 * sum(english for _, english in counts)
    return [_says(line, own, english, most if all_of_them else None) for line, (own, english) in zip(lines, counts, strict=True)]


def _says(line: GivenLine, own: dict[str, int], english: int, of_all: str | None) -> str | None:
    if any(word.phones for word in line.words):
        return None
    if _other_script(line):
        return f"it is not written in Latin letters, and {WHAT_THEN}"
    best = max(own, key=own.__getitem__)
    name = best if own[best] >= FEWEST_OWN and own[best] > english else of_all if not english else None
    return f"it seems to be in {name}, and {WHAT_THEN}" if name else None


def _counts(line: GivenLine) -> tuple[dict[str, int], int]:
    words = {word.text.lower() for word in line.words}
    return {name: len(words & small) for name, small in _SMALL.items()}, len(words & _ENGLISH)


def _other_script(line: GivenLine) -> bool:
    letters = [c for word in line.words for c in word.text if c.isalpha()]
    return bool(letters) and sum(not _latin(c) for c in letters) > len(letters) / 2


def _latin(letter: str) -> bool:
    return bool(re.match("LATIN|FULLWIDTH LATIN|MODIFIER LETTER", unicodedata.name(letter, "")))
