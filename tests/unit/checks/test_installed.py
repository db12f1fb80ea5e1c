"""The door for checks: what comes in, what is refused and told, and that the rest stands."""

from __future__ import annotations

import sys
from importlib.metadata import EntryPoint, entry_points
from types import ModuleType

import pytest
from tests.make.measured import measured

from shotcrit.checks import installed, registry
from shotcrit.checks.about import COLUMNS, Kind, Needs, about
from shotcrit.checks.finding import COMMON, Finding, Limit, Result
from shotcrit.checks.installed import GROUP, door, let_in
from shotcrit.clock import Span
from shotcrit.measuring.doctor import examine
from shotcrit.readings.cast import MARK_NAMES


def a_check(name: str, **says) -> ModuleType:
    """A module that is a check by itself, importable as `name`."""
    module = ModuleType(name)
    told = {"ID": "kites", "TITLE": "Kites", "HELP": "Whether kites fly.", "LIMITS": (), "run": lambda readings, limits: Result()}
    for key, value in (told | says).items():
        setattr(module, key, value)
    return module


@pytest.fixture
def come(monkeypatch):
    """Let ours and these modules in, by entry point name; put the door back afterwards."""

    def opened(**modules: ModuleType | None):
        for name, module in modules.items():
            if module is not None:
                monkeypatch.setitem(sys.modules, f"a_stranger_{name}", module)
        points = [*entry_points(group=GROUP), *(EntryPoint(name, f"a_stranger_{name}", GROUP) for name in modules)]
        found = let_in(points)
        for place in (installed, registry):
            monkeypatch.setattr(place, "door", lambda: found)
        monkeypatch.setattr("shotcrit.measuring.doctor.door", lambda: found)
        return found

    return opened


def test_ours_come_in_whole_and_say_all_about_themselves():
    there = door()
    assert there.refused == ()
    assert list(there.checks) == sorted(there.checks)
    for one in there.checks.values():
        said = one.about
        assert said.version >= 1, said.id
        assert said.kinds, said.id
        assert said.column in COLUMNS, said.id
        assert said.needs.of, said.id
        assert {*said.needs.marks, *said.needs.theirs} <= MARK_NAMES, said.id


def test_five_names_are_enough():
    said = about(a_check("plain"))
    assert (said.name, said.kinds, said.column, said.needs, said.version) == ("kites", {}, None, Needs(), 0)


@pytest.mark.parametrize(
    ("says", "why"),
    [
        ({"ID": None}, "no ID"),
        ({"ID": "two words"}, "no single word"),
        ({"TITLE": " "}, "no TITLE"),
        ({"run": 3}, "no run"),
        ({"LIMITS": (3,)}, "no Limit"),
        ({"KINDS": ("tail",)}, "no Kind"),
        ({"NEEDS": ("sound",)}, "no Needs"),
        ({"COLUMN": "left"}, "none of picture"),
        ({"VERSION": "one"}, "no whole number"),
    ],
)
def test_what_is_no_check_is_refused_with_its_reason(come, says, why):
    found = come(odd=a_check("odd", **says))
    assert [(one.name, why in one.why) for one in found.refused] == [("odd", True)], found.refused
    assert "kites" not in found.checks
    assert "hold" in found.checks


def test_one_that_cannot_be_imported_is_told_by_its_entry_point_and_the_rest_stands(come):
    ours = measured()
    before = registry.run_checks(ours.readings)
    come(lost=None)
    findings, missing = registry.run_checks(ours.readings)
    assert findings == before[0]
    told = [m for m in missing if m not in before[1]]
    assert [(m.check, m.who) for m in told] == [("lost", None)]
    assert "cannot be imported (ModuleNotFoundError" in told[0].needs
    assert [(line.what, line.good, line.needed) for line in examine() if not line.good and "check" in line.what] == [
        ("check lost", False, False)
    ]


def test_one_that_takes_an_id_of_ours_is_refused_whatever_its_name(come):
    found = come(aaa=a_check("aaa", ID="hold"))
    assert [one.name for one in found.refused] == ["aaa"]
    assert "'hold' is that of a check of shotcrit" in found.refused[0].why
    assert found.checks["hold"].check.TITLE == "Holds and dead frames"


def test_of_two_strangers_with_one_id_the_first_by_name_stays(come):
    found = come(b=a_check("b", TITLE="second"), a=a_check("a", TITLE="first"))
    assert found.checks["kites"].about.title == "first"
    assert [one.name for one in found.refused] == ["b"]


def _raises(readings, limits):
    raise ZeroDivisionError("no kites")


def _of_another(readings, limits):
    return Result((Finding("hold", "tail", None, Span(0, 1), 1, "frames", 0, "must", 0.9, "so", "so", COMMON),))


def _past_the_end(readings, limits):
    return Result((Finding("kites", "high", None, Span(0, 10**6), 1, "frames", 0, "must", 0.9, "so", "so", COMMON),))


@pytest.mark.parametrize("run", [_raises, lambda readings, limits: None, _of_another, _past_the_end])
def test_one_that_fails_is_told_and_the_rest_stands(come, run):
    ours = measured()
    before = registry.run_checks(ours.readings)
    come(kites=a_check("kites", run=run))
    findings, missing = registry.run_checks(ours.readings)
    assert findings == before[0]
    assert [m.check for m in missing if m not in before[1]] == ["kites"]


def test_a_strangers_words_and_column_are_used(come):
    limit = Limit("high", 3, "m", COMMON, "How high.")
    come(
        kites=a_check("kites", NAME="kite flying", KINDS=(Kind("too_low", "too near the ground", "still"),), COLUMN="body", LIMITS=(limit,))
    )
    assert registry.name_of("kites") == "kite flying"
    assert registry.kind_of("kites", "too_low").words == "too near the ground"
    assert registry.kind_of("kites", "never_said").words == "never said"
    assert registry.column_of("kites") == "body"
    assert registry.name_of("was_installed_once") == "was_installed_once"
    assert "kites.high" in {f"{check.ID}.{one.name}" for check in registry.all_checks() for one in check.LIMITS}
