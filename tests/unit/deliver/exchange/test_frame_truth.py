"""A note on frame 1046 of a shot that starts at 1001 comes out right in every format, at every rate, and comes back where it can."""

from __future__ import annotations

import csv
import io
import json
from fractions import Fraction

import pytest
from tests.make.counted_crits import RATES, Rate, counted_crit

from shotcrit.deliver.exchange.format import counting
from shotcrit.deliver.exchange.formats import FORMATS, SOURCES
from shotcrit.deliver.exchange.notes_csv import notes_csv
from shotcrit.deliver.exchange.notes_json import notes_json

FIRST, NOTED = 1001, 1046


@pytest.fixture(params=RATES, ids=lambda row: row.name)
def row(request: pytest.FixtureRequest) -> Rate:
    found: Rate = request.param
    return found


def only(files: object) -> bytes:
    (data,) = files.values()  # type: ignore[attr-defined]
    assert isinstance(data, bytes)
    return data


def test_the_count_itself(row: Rate) -> None:
    count = counting(counted_crit(row))
    assert (count.shown(45), count.timecode(45), count.rate) == (NOTED, row.code, row.rate)
    assert count.drop is (";" in row.code)
    assert count.need_timecode(0) == (row.starts or count.timecode(0))


def test_table(row: Rate) -> None:
    one, two = csv.DictReader(io.StringIO(only(notes_csv(counted_crit(row)).files).decode()))
    assert (one["first"], one["last"], one["first_timecode"], one["first_frame"]) == ("1046", "1046", row.code, "1001")
    assert Fraction(one["rate"]) == row.rate
    assert float(one["start_s"]) == pytest.approx(45 / float(row.rate), abs=1e-6)
    assert (two["first"], two["last"]) == ("1060", "1066")
    assert float(two["end_s"]) == pytest.approx(66 / float(row.rate), abs=1e-6), "just after the last frame"


def test_json(row: Rate) -> None:
    told = json.loads(only(notes_json(counted_crit(row)).files))
    note = told["notes"][0]
    assert (note["first"], note["first_timecode"], told["movie"]["first_frame"]) == (NOTED, row.code, FIRST)
    assert Fraction(told["movie"]["rate"]) == row.rate
    assert told["movie"]["drop_frame"] is (";" in row.code)


@pytest.mark.parametrize("source", SOURCES, ids=lambda source: source.name)
def test_what_goes_out_comes_back_on_its_frames(source: object, row: Rate) -> None:
    """Whatever can be read of what can be written."""
    crit = counted_crit(row)
    name, data = next(
        (end, data)
        for form in FORMATS
        for end, data in form.make(crit).files.items()
        if end.endswith(source.endings)  # type: ignore[attr-defined]
    )
    back = source.read(data, name, counting(crit))  # type: ignore[attr-defined]
    for was, now in zip(crit.notes, back.notes, strict=True):
        assert (now.first, now.last, now.what, now.why, now.suggest, now.weight, now.who) == (
            was.first, was.last, was.what, was.why, was.suggest, was.weight, was.who,
        )  # fmt: skip
