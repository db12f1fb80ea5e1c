"""The cast file as people save it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotcrit.errors import InputError
from shotcrit.readings.cast import read_cast


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
