"""Counted nouns: one and many, the same in Python and in the page (web/src/counted.test.ts reads the same cases)."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from shotcrit.checks.registry import all_checks
from shotcrit.counted import _MANY, bound, counted, quantity, real, times

CASES = json.loads((Path(__file__).parents[1] / "shared" / "counted.json").read_text(encoding="utf-8"))
SOURCE = Path(__file__).parents[2] / "src" / "shotcrit"


@pytest.mark.parametrize(("number", "unit", "said"), CASES["quantity"])
def test_a_value_with_its_unit(number: float, unit: str, said: str) -> None:
    assert quantity(number, unit) == said


@pytest.mark.parametrize(("number", "unit", "said"), CASES["bound"])
def test_a_limit_with_its_unit(number: float, unit: str, said: str) -> None:
    assert bound(number, unit) == said


@pytest.mark.parametrize(("number", "one", "many", "said"), CASES["counted"])
def test_a_counted_noun(number: int, one: str, many: str | None, said: str) -> None:
    assert counted(number, one, many) == said


def test_one_is_what_is_shown_as_one() -> None:
    assert (counted(1.04, "frame", digits=1), counted(1.46, "frame", digits=1)) == ("1 frame", "1.5 frames")
    assert (times(1), times(2), times(7.5, digits=1)) == ("once", "twice", "7.5 times")


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (7.0, "7"),
        (14.2, "14.2"),
        (0.35, "0.35"),
        (-2.0, "-2"),
        (1234.4, "1234"),
        (0.0001, "0"),
        (float("nan"), "not known"),
        (-0.0001, "0"),
    ],
)
def test_numbers_have_the_digits_that_mean_something(value: float, said: str) -> None:
    assert real(value) == said


def test_every_unit_of_a_limit_has_a_word_for_one() -> None:
    """A unit that begins with a plural is in the table; 's' and 'px' are no plurals."""
    units = {limit.unit for check in all_checks() for limit in check.LIMITS}
    nouns = {unit.partition(" ")[0].rstrip(",") for unit in units}
    assert {noun for noun in nouns if re.fullmatch(r"[a-z]{3,}[^s]s", noun)} <= set(_MANY)


def test_no_sentence_joins_a_number_and_a_plural_by_itself() -> None:
    """'{n} frames' says '1 frames' one day; rates are no counts."""
    joined = re.compile(r"\{[^{}]*\} (?:frames|notes|drawings)\b(?! (?:a|per) second)")
    found = [
        f"{path.relative_to(SOURCE)}:{number}: {line.strip()[:90]}"
        for path in sorted(SOURCE.rglob("*.py"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if joined.search(line)
    ]
    assert found == []
