"""Numbers as the JSON documents write them."""

from __future__ import annotations

from math import isfinite
from typing import Any

PLACES = 6
"""Decimals of every number: a microsecond, a millionth of the picture's width."""


def json_real(value: Any) -> float | int | None:
    """A JSON number; None for nan and infinity, a whole number where it is one."""
    real = float(value)
    if not isfinite(real):
        return None
    return int(real) if real.is_integer() else round(real, PLACES)
