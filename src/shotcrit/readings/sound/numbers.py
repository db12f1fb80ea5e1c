"""Numbers as they are said: '3' three, '21st' twenty first, '1984' nineteen eighty four, '3.5' three point five."""

from __future__ import annotations

import re

_SMALL_TEXT = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
)
_SMALL = _SMALL_TEXT.split()
_TENS = ["", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_BIG = ((10**9, "billion"), (10**6, "million"), (1000, "thousand"), (100, "hundred"))
_ORDINAL = {"one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth", "nine": "ninth", "twelve": "twelfth"}
_YEARS = range(1100, 2100)
_MOST_DIGITS = 12
"""Longer digit strings are read digit by digit, as telephone numbers are."""
_NUMBER = re.compile(r"([$£€]?)(\d[\d,]*)(?:\.(\d+))?(st|nd|rd|th|s|%)?", re.ASCII)
_CLOCK = re.compile(r"(\d{1,2}):(\d\d)", re.ASCII)
_MONEY = {"$": "dollar", "£": "pound", "€": "euro"}


def cardinal(number: int) -> list[str]:
    """0 or more, in words; no 'and', no hyphens."""
    if number < 20:
        return [_SMALL[number]]
    if number < 100:
        return [_TENS[number // 10], *([_SMALL[number % 10]] if number % 10 else [])]
    size, name = next((s, n) for s, n in _BIG if number >= s)
    rest = cardinal(number % size) if number % size else []
    return [*cardinal(number // size), name, *rest]


def ordinal(number: int) -> list[str]:
    """1 first, 20 twentieth, 21 twenty first."""
    *head, last = cardinal(number)
    plain = last[:-1] + "ieth" if last.endswith("y") else last + "th"
    return [*head, _ORDINAL.get(last, plain)]


def year(number: int) -> list[str]:
    """1984 nineteen eighty four, 1905 nineteen oh five, 1900 nineteen hundred, 2007 two thousand seven."""
    high, low = divmod(number, 100)
    if high % 10 == 0:
        return cardinal(number)
    if low == 0:
        return [*cardinal(high), "hundred"]
    return [*cardinal(high), *(["oh"] if low < 10 else []), *cardinal(low)]


def spoken_number(text: str) -> list[str] | None:
    """The words of a number as written in a line, or None where `text` is no number."""
    clock = _CLOCK.fullmatch(text)
    if clock:
        hour, minute = int(clock[1]), int(clock[2])
        return [*cardinal(hour), *(["oh"] if 0 < minute < 10 else []), *(cardinal(minute) if minute else ["o'clock"])]
    match = _NUMBER.fullmatch(text)
    if not match:
        return None
    sign, whole, part, tail = match[1], match[2].replace(",", ""), match[3], match[4] or ""
    words = _whole(whole, tail, plain="," not in match[2] and not sign and part is None)
    if part:
        words = [*words, "point", *(_SMALL[int(d)] for d in part)]
    if tail == "%":
        words = [*words, "percent"]
    if sign:
        words = [*words, _MONEY[sign] + ("" if words == ["one"] else "s")]
    return words


def _whole(digits: str, tail: str, *, plain: bool) -> list[str]:
    if len(digits) > _MOST_DIGITS or (len(digits) > 1 and digits[0] == "0"):
        return [_SMALL[int(d)] for d in digits]
    number = int(digits)
    if tail in ("st", "nd", "rd", "th"):
        return ordinal(number)
    words = year(number) if plain and number in _YEARS else cardinal(number)
    if tail == "s":
        last = words[-1]
        words = [*words[:-1], last[:-1] + "ies" if last.endswith("y") else last + ("es" if last.endswith("x") else "s")]
    return words
