"""Every limit of every check has a side on which it is silent and one on which it speaks, and switches where its number says."""

from __future__ import annotations

import pytest
from tests.make.limit_cases import bodies, colours, lids, looks, motions, mouths, pictures
from tests.make.limit_cases.case import Case

from shotcrit.checks.about import Check
from shotcrit.checks.registry import all_checks

CASES: dict[str, Case] = {**pictures.CASES, **bodies.CASES, **lids.CASES, **colours.CASES, **motions.CASES, **mouths.CASES, **looks.CASES}
CHECKS: dict[str, Check] = {check.ID: check for check in all_checks()}
LIMITS = {f"{check.ID}.{limit.name}": limit for check in all_checks() for limit in check.LIMITS}
MUCH = 3.0
"""A limit three times as high or low must be heard of."""


def test_every_limit_has_a_case() -> None:
    assert set(LIMITS) == set(CASES)


@pytest.mark.parametrize("name", CASES)
def test_a_limit_switches_where_its_number_says(name: str) -> None:
    """Planted around it with the limits as they come, and again with this one far away: then what was told is not, or what was not told is."""
    case, limit = CASES[name], LIMITS[name]
    check, own = CHECKS[name.partition(".")[0]], name.partition(".")[2]
    quiet, loud = case.switch(check)
    if case.whole:
        assert loud == case.at
    else:
        assert (quiet + loud) / 2 == pytest.approx(case.at, abs=case.within)
    far = [limit.value * MUCH, limit.value / MUCH] if limit.value else [1e6]
    moved = [case.told(check, planted, **{own: value}) is not told for planted, told in ((quiet, False), (loud, True)) for value in far]
    assert any(moved), f"{name} may be anything between {far} and nothing changes"
