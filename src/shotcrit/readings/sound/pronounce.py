"""How the words of a line are said: the dictionary inside pocketsphinx's wheel, then rules, then the network of letters.py.

What the reviewer typed as [word|W ER D] always wins. Several ways to say a word are all handed on; the sound picks one.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from itertools import islice, product
from pathlib import Path

from pocketsphinx import get_model_path

from shotcrit.readings.sound.given import GivenWord, Phones
from shotcrit.readings.sound.letters import guess_phones, with_stress
from shotcrit.readings.sound.numbers import spoken_number
from shotcrit.readings.sound.phoneset import VOWELS

MOST_WAYS = 6
"""Pronunciations tried for one word (guess; the dictionary's most have 4)."""

_NOISES = {"shh": "SH", "psst": "P S T", "tsk": "T S K", "hmph": "HH M F", "argh": "AA R", "aah": "AA", "aargh": "AA R", "ooh": "UW"}
"""Interjections that letter rules get wrong."""
_SIGNS = {"&": "and", "@": "at", "%": "percent"}


@lru_cache(maxsize=1)
def _rows() -> dict[str, str]:
    """The dictionary in the wheel as it is written: 'read' and 'read(2)' each with its phones in one string."""
    rows = Path(get_model_path("en-us/cmudict-en-us.dict")).read_text(encoding="utf-8").splitlines()
    return {word: phones for word, _, phones in (row.partition(" ") for row in rows)}


def _in_dictionary(word: str) -> tuple[Phones, ...]:
    """A word's pronunciations (no stress), or none. Only what is asked for is taken apart: there are 134 thousand rows."""
    names = (word if k == 1 else f"{word}({k})" for k in range(1, MOST_WAYS + 1))
    return tuple(tuple(_rows()[name].split()) for name in names if name in _rows())


def ways_to_say(word: GivenWord) -> tuple[Phones, ...]:
    """Pronunciations, likeliest first, phones with stress digits on the vowels. Never empty."""
    if word.phones is not None:
        return (_with_digits(word.text, word.phones),)
    return _ways(word.text)


@lru_cache(maxsize=8192)
def _ways(text: str) -> tuple[Phones, ...]:
    number = spoken_number(text.strip("'"))
    parts = number if number is not None else _parts(text)
    choices = [_part_ways(part, parts) for part in parts] or [_part_ways("uh", [])]
    joined = ("\0".join("\0".join(p) for p in combo) for combo in islice(product(*choices), MOST_WAYS))
    return tuple(dict.fromkeys(tuple(j.split("\0")) for j in joined))


def _parts(text: str) -> list[str]:
    """The pieces of a written word that are said one after the other."""
    plain = _plain(text)
    if plain in _rows() or text in _SIGNS:
        return [_SIGNS.get(text, plain)]
    pieces = [p for p in re.split(r"[-_.,:&@+*%]|(?<=[a-z])(?=\d)|(?<=\d)(?=[a-z])", plain) if p.strip("'")]
    if len(pieces) == 1 and text.isupper() and _is_initials(plain):
        return list(plain)
    return [word for p in pieces for word in (spoken_number(p) or [p])]


def _is_initials(plain: str) -> bool:
    return 1 < len(plain) <= 5 and plain.isalpha() and (len(plain) <= 3 or not re.search("[aeiouy]", plain))


def _plain(text: str) -> str:
    """Lower case, accents taken off ('café' -> 'cafe'); letters of other scripts stay as they are."""
    apart = unicodedata.normalize("NFD", text.lower())
    return "".join(c for c in apart if unicodedata.category(c) != "Mn")


def _part_ways(part: str, parts: list[str]) -> tuple[Phones, ...]:
    if parts and part is not parts[-1] and _is_stutter(part, parts[-1]):
        head = next((i for i, p in enumerate(_known(parts[-1])[0]) if p[:2] in VOWELS), 1)
        return ((*_known(parts[-1])[0][:head], "AH0"), _known(parts[-1])[0][:head] or ("AH0",))
    return _known(part)


def _is_stutter(part: str, whole: str) -> bool:
    return len(part) <= 2 and part not in ("a", "i", "oh") and not set(part) & set("aeiou") and whole.startswith(part) and part != whole


@lru_cache(maxsize=8192)
def _known(part: str) -> tuple[Phones, ...]:
    for spelling in _spellings(part):
        if spelling in _NOISES:
            return (_with_digits(spelling, tuple(_NOISES[spelling].split())),)
        ways = _in_dictionary(spelling)
        if ways:
            return tuple(_with_digits(spelling, way) for way in ways)
    letters = re.sub("[^a-z]", "", part)
    if letters.endswith("s") and "'" in part:
        return tuple(_add_s(way) for way in _known(part.partition("'")[0])) if part.partition("'")[0] else guess_phones(letters)
    return guess_phones(letters or "uh") or (("AH0",),)


def _spellings(part: str) -> list[str]:
    """The word itself, without its apostrophes at the ends, and with long drawn letters shortened (nooo, stooop)."""
    bare = part.strip("'")
    shorter = [re.sub(r"(.)\1{2,}", r"\1\1", bare), re.sub(r"(.)\1{1,}", r"\1", bare)] if re.search(r"(.)\1\1", bare) else []
    return list(dict.fromkeys([part, bare, *shorter]))


def _add_s(way: Phones) -> Phones:
    last = way[-1]
    if last in ("S", "Z", "SH", "ZH", "CH", "JH"):
        return (*way, "IH0", "Z")
    return (*way, "S" if last in ("P", "T", "K", "F", "TH") else "Z")


def _with_digits(spelling: str, phones: Phones) -> Phones:
    """Put in the stress digits that are missing."""
    bare = tuple(p.rstrip("012") for p in phones)
    guessed = with_stress(re.sub("[^a-z]", "", _plain(spelling)) or "uh", bare)
    return tuple(p if p != b else g for p, b, g in zip(phones, bare, guessed, strict=True))
