"""How a number and what it counts are written: '7 frames', '1 frame', 'no cuts'. The only place that decides between one and many."""

from __future__ import annotations

import re
from math import isfinite

NOUGHT = 5e-3
"""A value below this is shown as 0 (half of the last digit shown)."""
_MANY = {
    "conversions": "conversion", "degrees": "degree", "drawings": "drawing", "flashes": "flash", "frames": "frame", "pictures": "picture",
    "seconds": "second", "strokes": "stroke", "times": "time", "words": "word",
}  # fmt: skip
"""The nouns that units begin with, and what one of them is called."""
_SIGN = re.compile(r", \+ (?:when|is) (.+)$")
"""How a unit says what its sign means: 'frames, + when the mouth comes late'."""
_OTHER = {"late": "early", "longer": "shorter", "right": "left", "high": "low", "up": "down", "in front of": "behind"}
"""What the other sign means, word by word."""


def real(value: float) -> str:
    """A number with as many digits as mean something: '7', '14.2', '0.35'; 'not known' for nan."""
    if not isfinite(value):
        return "not known"
    if abs(value) < NOUGHT:
        return "0"
    if abs(value - round(value)) < NOUGHT or abs(value) >= 100:
        return str(round(value))
    return f"{value:.1f}" if abs(value) >= 1 else f"{value:.2f}"


def counted(number: float, one: str, many: str | None = None, *, digits: int = 0) -> str:
    """'no cuts', '1 cut', '2 cuts'; with one digit '1.5 frames', and '1 frame' for what is shown as 1."""
    shown = f"{number:.{digits}f}"
    shown = shown.rstrip("0").rstrip(".") if digits else shown
    return f"{'no' if shown in ('0', '-0') else shown} {one if shown == '1' else many or one + 's'}"


def times(number: float, *, digits: int = 0) -> str:
    """'once', 'twice', '7 times', '2.5 times'."""
    words = counted(number, "time", digits=digits)
    return {"1 time": "once", "2 times": "twice"}.get(words, words)


def bound(number: float, unit: str) -> str:
    """What a value is held against: '3 frames' of -3 'frames, + when the mouth comes late'; '0.5 % of head height' of 'that the body lifts'."""
    return quantity(abs(number), re.split(r",| that | too ", unit)[0]) if isfinite(number) else real(number)


def quantity(number: float, unit: str) -> str:
    """'7 frames', '1 frame', '14.2° too high'; a sign is told in words: '3 frames, the mouth comes early'."""
    sign = _SIGN.search(unit)
    if sign and isfinite(number):
        means = sign[1] if number >= 0 else re.sub(rf"\b({'|'.join(_OTHER)})\b", lambda word: _OTHER[word[1]], sign[1])
        number, unit = abs(number), f"{unit[: sign.start()]}, {means}"
    shown = real(number)
    noun = unit.partition(" ")[0].rstrip(",")
    if shown in ("1", "-1") and noun in _MANY:
        unit = _MANY[noun] + unit[len(noun) :]
    return f"{shown}{'' if unit.startswith('°') else ' '}{unit}".strip()
