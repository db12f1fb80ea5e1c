"""Rates are exact fractions."""

from __future__ import annotations

from fractions import Fraction

import pytest

from shotcrit.clock import parse_rate, rate_label, rate_text
from shotcrit.errors import InputError


@pytest.mark.parametrize(
    ("text", "rate"),
    [("24", Fraction(24)), ("23.976", Fraction(24000, 1001)), ("23.98", Fraction(24000, 1001)), ("29.97", Fraction(30000, 1001)),
     ("59.94", Fraction(60000, 1001)), ("30000/1001", Fraction(30000, 1001)), ("12.5", Fraction(25, 2)), ("24.0", Fraction(24))],
)  # fmt: skip
def test_spellings_of_a_rate(text: str, rate: Fraction) -> None:
    assert parse_rate(text) == rate


@pytest.mark.parametrize("text", ["", "0", "-24", "24/0", "fast", "1e3", "2000", "24,5", "٢٤"])
def test_what_is_no_rate_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(InputError, match="rate"):
        parse_rate(text)


def test_rates_as_they_are_written_and_shown() -> None:
    assert rate_text(Fraction(24000, 1001)) == "24000/1001"
    assert [rate_label(Fraction(r)) for r in (Fraction(24), Fraction(24000, 1001), Fraction(30000, 1001), Fraction(25, 2))] == [
        "24", "23.976", "29.97", "12.5",
    ]  # fmt: skip
