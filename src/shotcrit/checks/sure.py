"""How sure a number is, and what may be said of it: one rule for every check."""

from __future__ import annotations

from shotcrit.counted import counted

BAR = 2.0
"""Standard errors that an error bar is long each way: 95 % of a normal variable."""
PARTS = 2.0
"""A number is named only when it is this many times its own bar (guess: 'about 12' reads as 8 to 16)."""
FINE = 3.0
"""Below this a scene's numbers are worth a tenth."""


def beyond(value: float, limit: float, error: float, *, bars: float = BAR) -> bool:
    """Whether a value lies past its limit, whatever its sign, and its error bar does not reach back to it. error : one standard error, same unit

    bars : how many standard errors count, for what has its own measured rate of false alarms
    """
    return abs(value) - bars * error > limit


def as_sure(value: float, error: float) -> float:
    """The value, rounded to what its error allows: tenths, whole ones, fives, tens, twenties."""
    bar = BAR * error
    step = next(step for step, most in ((0.1, 0.5), (1.0, 4.0), (5.0, 9.0), (10.0, 18.0), (20.0, float("inf"))) if bar <= most)
    return round(round(value / step) * step, 1)


def about(value: float, error: float, unit: str) -> str:
    """'12 degrees' of what is exact, 'about 12 degrees' of what is not, '' of what is too unsure for a number. unit : singular"""
    size = abs(value)
    if error > 0 and size < PARTS * BAR * error:
        return ""
    return f"{'about ' if error > 0 else ''}{counted(as_sure(size, error), unit, digits=1 if size < FINE else 0)}"
