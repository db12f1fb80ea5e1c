"""The 39 phones of the CMU Pronouncing Dictionary: how long they last, and how alike two of them sound."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

Manner = Literal["vowel", "stop", "affricate", "fricative", "nasal", "liquid", "glide"]


@dataclass(frozen=True)
class PhoneKind:
    """One phone. inherent_ms, least_ms: durations of MITalk table 9-1 (Allen, Hunnicutt & Klatt 1987, p. 96).

    place : consonants from 'lip' to 'throat'; vowels 'front', 'mid', 'back'
    height : vowels only, 0 high .. 4 low (IPA Handbook 1999, from memory)
    """

    manner: Manner
    place: str
    voiced: bool
    inherent_ms: int
    least_ms: int
    height: float = 0.0


PHONES: dict[str, PhoneKind] = {
    "AA": PhoneKind("vowel", "back", True, 240, 100, 4),
    "AE": PhoneKind("vowel", "front", True, 230, 80, 4),
    "AH": PhoneKind("vowel", "mid", True, 140, 60, 2.5),
    "AO": PhoneKind("vowel", "back", True, 240, 100, 3),
    "AW": PhoneKind("vowel", "mid", True, 260, 100, 3.5),
    "AY": PhoneKind("vowel", "mid", True, 250, 150, 3.5),
    "EH": PhoneKind("vowel", "front", True, 150, 70, 3),
    "ER": PhoneKind("vowel", "mid", True, 180, 80, 2),
    "EY": PhoneKind("vowel", "front", True, 190, 100, 1.5),
    "IH": PhoneKind("vowel", "front", True, 135, 40, 1.5),
    "IY": PhoneKind("vowel", "front", True, 155, 55, 1),
    "OW": PhoneKind("vowel", "back", True, 220, 80, 2),
    "OY": PhoneKind("vowel", "back", True, 280, 150, 2.5),
    "UH": PhoneKind("vowel", "back", True, 160, 60, 1.5),
    "UW": PhoneKind("vowel", "back", True, 210, 70, 1),
    "P": PhoneKind("stop", "lip", False, 90, 50),
    "B": PhoneKind("stop", "lip", True, 85, 60),
    "M": PhoneKind("nasal", "lip", True, 70, 60),
    "F": PhoneKind("fricative", "teeth", False, 100, 80),
    "V": PhoneKind("fricative", "teeth", True, 60, 40),
    "W": PhoneKind("glide", "lip", True, 80, 60),
    "R": PhoneKind("liquid", "ridge", True, 80, 30),
    "TH": PhoneKind("fricative", "teeth", False, 90, 60),
    "DH": PhoneKind("fricative", "teeth", True, 50, 30),
    "T": PhoneKind("stop", "ridge", False, 75, 50),
    "D": PhoneKind("stop", "ridge", True, 75, 50),
    "N": PhoneKind("nasal", "ridge", True, 60, 50),
    "L": PhoneKind("liquid", "ridge", True, 80, 40),
    "S": PhoneKind("fricative", "ridge", False, 105, 60),
    "Z": PhoneKind("fricative", "ridge", True, 75, 40),
    "SH": PhoneKind("fricative", "palate", False, 105, 80),
    "ZH": PhoneKind("fricative", "palate", True, 70, 40),
    "CH": PhoneKind("affricate", "palate", False, 70, 50),
    "JH": PhoneKind("affricate", "palate", True, 70, 50),
    "Y": PhoneKind("glide", "palate", True, 80, 40),
    "K": PhoneKind("stop", "back", False, 80, 60),
    "G": PhoneKind("stop", "back", True, 80, 60),
    "NG": PhoneKind("nasal", "back", True, 95, 60),
    "HH": PhoneKind("fricative", "throat", False, 80, 20),
}
VOWELS: frozenset[str] = frozenset(name for name, kind in PHONES.items() if kind.manner == "vowel")

_SAME = 1.0
_UNLIKE_CONSONANTS = -0.5
_VOWEL_FOR_CONSONANT = -0.8
_GLIDING = {("Y", "IY"), ("Y", "IH"), ("W", "UW"), ("W", "UH"), ("W", "OW"), ("R", "ER"), ("L", "OW"), ("L", "UH"), ("L", "AO")}
"""Pairs that pass into each other in running speech."""


def split_stress(symbol: str) -> tuple[str, int | None]:
    """'ER1' -> ('ER', 1), 'D' -> ('D', None). Raises KeyError for what is no phone, or a digit on a consonant."""
    name, digit = (symbol[:-1], int(symbol[-1])) if symbol[-1:] in ("0", "1", "2") else (symbol, None)
    if name not in PHONES or (digit is not None and name not in VOWELS):
        raise KeyError(symbol)
    return name, digit


@cache
def likeness(a: str, b: str) -> float:
    """How well phone b, as a machine heard it, speaks for phone a: 1 the same, above 0 for it, below 0 against it.

    The steps (0.1 to 0.6 for shared manner, place, voicing, tongue height) are a guess, checked on two synthetic voices.
    """
    if a == b:
        return _SAME
    one, two = PHONES[a], PHONES[b]
    if (a, b) in _GLIDING or (b, a) in _GLIDING:
        return 0.3
    if (a in VOWELS) != (b in VOWELS):
        return _VOWEL_FOR_CONSONANT
    if a in VOWELS:
        return 0.6 - 0.25 * abs(one.height - two.height) - (0.0 if one.place == two.place else 0.25)
    shared = 0.45 * (one.manner == two.manner) + 0.4 * (one.place == two.place) + 0.15 * (one.voiced == two.voiced)
    return _UNLIKE_CONSONANTS + 1.1 * shared
