"""Marks from one file to another, and into a measurement."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotcrit.errors import InputError
from shotcrit.measuring.marks_files import convert_marks
from shotcrit.measuring.request import request_from_files
from shotcrit.readings.cast import read_cast

CAST = {
    "characters": [{"name": "Ada", "marks": {"nose": [{"frame": 21, "x": 1 / 3, "y": 0.1 + 0.2}]}, "scene": {"head": "Head"}}],
    "props": [{"name": "kite", "marks": {"tail": [{"frame": 1, "x": 0.5, "y": 0.5}]}}],
    "looks": [{"who": "Ada", "at": "kite.tail", "first": 1, "last": 116}],
}


@pytest.fixture
def cast(tmp_path: Path) -> Path:
    path = tmp_path / "cast.json"
    path.write_text(json.dumps(CAST))
    return path


def test_out_and_in_again_loses_nothing(cast: Path, tmp_path: Path) -> None:
    table, back = tmp_path / "marks.csv", tmp_path / "back.json"
    assert convert_marks(cast, table) == 2
    assert convert_marks(table, back, base=cast) == 2
    assert read_cast(back) == read_cast(cast)
    # Without the cast its marks alone come back: a table knows no scene and no looks.
    convert_marks(table, back)
    alone = read_cast(back)
    assert [p.marks for p in alone.marked] == [p.marks for p in read_cast(cast).marked]
    assert (alone.looks, dict(alone.characters[0].scene)) == ((), {})


def test_a_table_is_measured_with_or_without_a_cast(cast: Path, tmp_path: Path) -> None:
    table = tmp_path / "marks.csv"
    table.write_text("frame,who,mark,x,y\n30,Ada,nose,0.4,0.4\n")
    request = request_from_files(tmp_path / "kite.mp4", cast=cast, marks=table)
    assert request.cast is not None
    assert [p.frame for p in request.cast.characters[0].marks["nose"]] == [21, 30]
    assert request.cast.looks
    alone = request_from_files(tmp_path / "kite.mp4", marks=table).cast
    assert alone is not None
    assert [p.frame for p in alone.characters[0].marks["nose"]] == [30]
    assert request_from_files(tmp_path / "kite.mp4").cast is None


@pytest.mark.parametrize(
    ("source", "target", "says"),
    [
        ("cast.json", "marks.txt", "end it in .csv"),
        ("marks.txt", "marks.csv", "holds no marks"),
        ("none.json", "marks.csv", "cannot be read"),
        ("none.csv", "marks.json", "cannot be read"),
        ("none.crit", "marks.csv", "is not there"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(cast: Path, tmp_path: Path, source: str, target: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        convert_marks(tmp_path / source, tmp_path / target)
    assert not (tmp_path / target).exists()


def test_a_cast_to_be_put_in_needs_a_table(cast: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is no table"):
        convert_marks(cast, tmp_path / "m.csv", base=cast)
