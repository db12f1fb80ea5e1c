"""The cast file as people save it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from shotcrit.errors import InputError
from shotcrit.readings.cast import parse_cast, read_cast


def saved(tmp_path: Path, text: str, encoding: str = "utf-8") -> Path:
    path = tmp_path / "cast.json"
    path.write_text(text, encoding=encoding)
    return path


def test_a_byte_order_mark_does_no_harm(tmp_path):
    assert read_cast(saved(tmp_path, json.dumps({"characters": [{"name": "Ádá"}]}), "utf-8-sig")).characters[0].name == "Ádá"


@pytest.mark.parametrize(
    "text",
    [
        '{"characters": [], "characters": []}',
        '{"characters": [{"name": "Ada", "marks": {"nose": [], "nose": []}}]}',
        '{"characters": [{"name": "Ada", "name": "Ben"}]}',
    ],
)
def test_what_stands_twice_in_one_object_is_refused(tmp_path, text):
    with pytest.raises(InputError, match="stands twice in one object"):
        read_cast(saved(tmp_path, text))


ADA = {"name": "Ada", "marks": {"nose": [{"frame": 3, "x": 0.5, "y": 0.5}], "chin": []}}
TWICE = {"name": "Ada", "marks": {"nose": [{"frame": 3, "x": 0.5, "y": 0.5}, {"frame": 3, "x": 0.6, "y": 0.5}]}}
BACK = {"first": 9, "last": 2}


@pytest.mark.parametrize(
    ("cast", "said"),
    [
        ({"characters": [ADA], "looks": [{"who": "Ada", "at": "camera", "off": "left"}]}, "a side off the picture belongs to somebody"),
        ({"characters": [ADA], "looks": [{"who": "Ada", "at": "camera", **BACK}]}, "a look goes from frame 9 to 2"),
        ({"characters": [ADA], "contacts": [{"a": "Ada.nose", "b": "Ada.chin", **BACK}]}, "a contact goes from frame 9 to 2"),
        ({"cameras": [{"node": "CamA", **BACK}]}, "a camera goes from frame 9 to 2"),
        ({"characters": [TWICE]}, "Ada's nose is placed twice on frame 3"),
    ],
)
def test_what_would_be_passed_over_in_silence_is_refused(tmp_path, cast, said):
    with pytest.raises(InputError, match=said):
        read_cast(saved(tmp_path, json.dumps(cast)))


WHOLE = {
    "characters": [{"name": "Oona", "marks": {"nose": [{"frame": 3, "x": 0.5, "y": 0.5}]}, "scene": {"head": "Head"}}],
    "props": [{"name": "lantern", "marks": {"grip": [{"frame": 3, "x": 0.5, "y": 0.5}]}}],
    "contacts": [{"a": "Oona.nose", "b": "lantern.grip", "first": 1, "last": 9}],
    "looks": [{"who": "Oona", "at": {"x": 0.5, "y": 0.5}, "first": 1, "last": 9}],
    "cameras": [{"node": "Cam", "first": 1, "last": 9}],
    "metres_per_unit": 1.0,
}


def each_with(value: Any, whole: Any) -> Iterator[Any]:
    """`whole` with `value` in the place of each of its parts, the whole too, one at a time."""
    yield value
    for key in whole if isinstance(whole, dict) else range(len(whole)) if isinstance(whole, list) else ():
        for changed in each_with(value, whole[key]):
            if isinstance(whole, dict):
                yield {**whole, key: changed}
            else:
                yield [*whole[:key], changed, *whole[key + 1 :]]


@pytest.mark.parametrize("odd", [None, 3, -7.5, "kite", True, [], {}, [3], {"kite": 3}], ids=repr)
def test_a_part_of_the_wrong_kind_is_refused_in_a_sentence_or_read(odd: Any) -> None:
    """A number in the place of the characters ended in a traceback."""
    assert parse_cast(WHOLE, name="cast.json").characters
    for data in each_with(odd, WHOLE):
        try:
            parse_cast(data, name="cast.json")
        except InputError as problem:
            said = str(problem)
            assert said.startswith("cast.json: ") or "cast" in said
            assert "input should" not in said.lower()


def test_what_was_wanted_is_said_in_plain_words() -> None:
    with pytest.raises(InputError, match=r"^cast.json: the whole is not right \(it has to be an object in braces\)"):
        parse_cast([], name="cast.json")
    far = {"characters": [{"name": "Ada", "marks": {"nose": [{"frame": 3, "x": -7, "y": 0.5}]}}]}
    with pytest.raises(InputError, match=r"nose.0.x is not right \(it has to be -2 or more\)"):
        parse_cast(far, name="cast.json")
