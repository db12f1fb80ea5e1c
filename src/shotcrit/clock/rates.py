"""Frame rates as exact fractions."""

from __future__ import annotations

import re
from fractions import Fraction

from shotcrit.errors import InputError

FASTEST = Fraction(1000)
"""Above this a frame rate is a mistake in the file (guess; high-speed review copies stay far below)."""

_NTSC = {Fraction(n * 1000, 1001) for n in (24, 30, 48, 60, 120)}


def parse_rate(text: str) -> Fraction:
    """'24', '23.976', '29.97', '30000/1001' or '12.5' as an exact rate in frames per second.

    Decimal spellings of the NTSC family mean n * 1000/1001 (SMPTE ST 12-1; 23.976 is 24000/1001).
    Raises InputError for anything else, zero, or a rate above FASTEST.
    """
    tidy = text.strip()
    if not re.fullmatch(r"\d{1,9}(\.\d{1,9})?(/\d{1,9})?", tidy, re.ASCII):
        raise InputError(f"'{text}' is not a frame rate; write it as 24, 23.976 or 24000/1001")
    above, _, below = tidy.partition("/")
    if below and int(below) == 0:
        raise InputError(f"'{text}' is not a frame rate; write it as 24, 23.976 or 24000/1001")
    rate = Fraction(above) / Fraction(below or 1)
    if "." in tidy and not below:
        rate = snap_rate(rate)
    if not 0 < rate <= FASTEST:
        raise InputError(f"'{text}' is no usable frame rate; it must lie above 0 and not above {FASTEST}")
    return rate


def snap_rate(rate: Fraction) -> Fraction:
    """The NTSC rate that `rate` spells in two or three decimals, else `rate` itself."""
    for exact in _NTSC:
        if abs(exact - rate) < Fraction(6, 1000) and rate.denominator != 1:
            return exact
    return rate


def rate_text(rate: Fraction) -> str:
    """'24/1', '24000/1001': how a rate is written in JSON."""
    return f"{rate.numerator}/{rate.denominator}"


def rate_label(rate: Fraction) -> str:
    """'24', '23.976', '29.97': how a rate is shown to people."""
    if rate.denominator == 1:
        return str(rate.numerator)
    return f"{float(rate):.3f}".rstrip("0")
