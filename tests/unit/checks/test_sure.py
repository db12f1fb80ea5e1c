"""What may be said of a number with an error: worked by hand."""

from __future__ import annotations

import pytest

from shotcrit.checks.sure import about, as_sure, beyond


@pytest.mark.parametrize(
    ("value", "limit", "error", "past"),
    [(12.0, 2.0, 4.9, True), (12.0, 2.0, 5.0, False), (-12.0, 2.0, 4.9, True), (2.0, 2.0, 0.0, False), (2.1, 2.0, 0.0, True)],
)
def test_an_error_bar_that_reaches_the_limit_tells_nothing(value: float, limit: float, error: float, past: bool) -> None:
    assert beyond(value, limit, error) is past


@pytest.mark.parametrize(
    ("value", "error", "shown"),
    [(12.34, 0.0, 12.3), (12.34, 1.0, 12.0), (86.8, 18.9, 80.0), (-12.6, 3.0, -15.0), (33.0, 8.0, 30.0), (0.0, 1.0, 0.0)],
)
def test_a_number_is_given_as_far_as_its_error_allows(value: float, error: float, shown: float) -> None:
    assert as_sure(value, error) == shown


@pytest.mark.parametrize(
    ("value", "error", "said"),
    [
        (12.04, 0.0, "12 degrees"),
        (1.0, 0.0, "1 degree"),
        (1.54, 0.0, "1.5 degrees"),
        (-8.2, 1.5, "about 8 degrees"),
        (13.1, 3.0, "about 15 degrees"),
        (86.8, 37.8 / 2, "about 80 degrees"),
        (12.6, 5.0, ""),
    ],
)
def test_a_number_is_said_only_where_it_is_twice_its_bar(value: float, error: float, said: str) -> None:
    assert about(value, error, "degree") == said
