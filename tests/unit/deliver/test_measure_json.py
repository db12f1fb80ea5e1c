"""The document that `measure --json` writes, against its shipped schema and the contract."""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.make.measured import Names, bare, measured, sound_only
from tests.make.picture_rows import paced, with_picture

from shotcrit.checks.finding import Finding
from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.deliver.measure_json import measure_document, measure_schema, measure_text, write_measure_json
from shotcrit.errors import InputError
from shotcrit.readings.seen import Fade

STRICT = jsonschema.Draft202012Validator(measure_schema())


def test_the_schema_itself_is_sound() -> None:
    jsonschema.Draft202012Validator.check_schema(measure_schema())


@pytest.mark.parametrize(
    "what",
    [measured(level=0), measured(level=1), measured(level=2), sound_only(), bare()],
    ids=["movie", "lines", "marks", "sound", "bare"],
)
def test_every_kind_of_measurement_keeps_to_the_schema(what: Measured) -> None:
    STRICT.validate(json.loads(measure_text(what)))


def test_the_schema_refuses_what_is_not_in_it() -> None:
    document = measure_document(measured())
    document["findings"][0]["mood"] = "fine"
    assert not STRICT.is_valid(document)
    del document["findings"][0]["mood"]
    assert STRICT.is_valid(document)
    document["movie"]["rate"] = 24
    assert not STRICT.is_valid(document)


def test_frames_are_shown_frames_with_both_ends_in() -> None:
    document = measure_document(measured())
    assert document["movie"]["rate"] == "24/1"
    assert document["movie"]["first_frame"] == 1001
    assert document["events"]["cuts"] == [1097, 1169]
    tail = next(f for f in document["findings"] if f["check"] == "hold")
    assert (tail["first"], tail["last"], tail["value"]) == (1258, 1264, 7)
    but = document["events"]["words"][0]
    assert (but["text"], but["who"], but["first"]) == ("But", "Oona", 1001 + int(0.9 * 24))
    assert document["not_measured"][0] == {"check": "blink", "who": "Bram", "needs": "lid marks on one frame where the eyes are shut"}


def test_keys_stand_in_the_order_of_the_contract() -> None:
    document = measure_document(measured())
    assert list(document) == ["schema", "movie", "medium", "events", "findings", "not_measured", "assumed"]
    wanted = ["check", "kind", "who", "first", "last", "value", "unit", "limit", "weight", "confidence", "says", "try", "basis"]
    assert list(document["findings"][0])[: len(wanted)] == wanted
    assert measure_text(measured()) == measure_text(measured())


def test_nan_and_infinity_become_null() -> None:
    whole = measured()
    broken = replace(whole.findings[0], value=math.nan, limit=math.inf)
    text = measure_text(replace(whole, findings=(broken, *whole.findings[1:])))
    assert "NaN" not in text
    assert "Infinity" not in text
    assert json.loads(text)["findings"][0]["value"] is None
    assert None in next(c["seen"] for f in json.loads(text)["findings"] for c in f["curves"] if c["name"] == "opening")


def test_sound_after_the_last_picture_has_no_frames() -> None:
    whole = measured(level=1)
    sound = whole.readings.sound
    assert sound is not None
    late = replace(sound.words[0], start_s=99.0, end_s=99.5)
    readings = replace(whole.readings, sound=replace(sound, words=(late,), phones=()))
    word = measure_document(replace(whole, readings=readings))["events"]["words"][0]
    assert (word["first"], word["last"]) == (None, None)


@settings(max_examples=40)
@given(st.text(min_size=1, max_size=40), st.text(max_size=40))
def test_any_name_survives(one: str, says: str) -> None:
    text = measure_text(measured(names=Names(one=one, says=f"A{says}.")))
    document = json.loads(text)
    assert document["events"]["words"][0]["who"] == one
    assert document["findings"][-1]["says"] == f"A{says}."


def test_it_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "out.json"
    write_measure_json(measured(), path)
    assert json.loads(path.read_text(encoding="utf-8"))["schema"] == "shotcrit.measure/1"
    assert [p.name for p in tmp_path.iterdir()] == ["out.json"]
    with pytest.raises(InputError, match="cannot be written"):
        write_measure_json(measured(), tmp_path / "no" / "out.json")
    with pytest.raises(InputError, match="cannot be written"):
        write_measure_json(measured(), tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["out.json"]


def test_it_can_go_to_an_open_file() -> None:
    file = io.StringIO()
    write_measure_json(measured(), file)
    assert file.getvalue() == measure_text(measured())


def test_few_dead_frames_and_the_rhythm_are_told_even_where_they_are_no_finding() -> None:
    picture = picture_readings_of(dead=[5, 6, 20], rhythm=[20])
    told = measure_document(picture)["events"]
    assert told["dead"] == [{"first": 1006, "last": 1007}]
    assert told["cadence"] == {"kind": "step", "name": "on twos", "period": 2, "repeats": 1, "source_rate": None}
    assert measure_document(sound_only())["events"]["cadence"] is None


def picture_readings_of(*, dead: list[int], rhythm: list[int]) -> Measured:
    """Pictures whose frames `dead` (counted from 0) repeat, some of them in a rhythm; the first is shown as 1001."""
    readings = with_picture(
        40, repeats=np.isin(np.arange(40), dead), cadence=paced(np.isin(np.arange(40), rhythm), name="on twos", period=2, repeats=1)
    )
    return Measured(replace(readings, movie=replace(readings.movie, first_frame=1001)), (), ())


def test_where_nobody_acts_and_single_frames_are_told_as_they_are_shown() -> None:
    base = picture_readings_of(dead=[], rhythm=[])
    assert base.readings.picture is not None
    picture = replace(base.readings.picture, black=(Span(0, 5),), fades=(Fade(Span(4, 12), "in"),), cards=(Span(30, 40),))
    twice = Finding("cadence", "doubled", None, Span(14, 22), 2, "frames", 0, "must", 0.9, "Twice", "Check", "none", frames=(14, 21))
    told = measure_document(replace(base, readings=replace(base.readings, picture=picture), findings=(twice,)))
    assert told["events"]["black"] == [{"first": 1001, "last": 1005}]
    assert told["events"]["fades"] == [{"first": 1005, "last": 1012, "kind": "in"}]
    assert told["events"]["cards"] == [{"first": 1031, "last": 1040}]
    assert told["findings"][0]["frames"] == [1015, 1022]
    STRICT.validate(told)
