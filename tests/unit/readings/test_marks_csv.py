"""Marks to a table and back; hostile tables give one sentence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from shotcrit.errors import InputError
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.cast import Cast, Character, Placed
from shotcrit.readings.marks_csv import marks_to_csv, parse_marks_csv, read_marks_csv


def acting() -> Acting:
    xy = np.array([[0.25, 0.5], [np.nan, np.nan], [0.26, 0.5]], np.float32)
    track = MarkTrack("Ada", "nose", xy, np.array([0, np.nan, 0.2], np.float32), (0,))
    return Acting("Ada", 2, {"nose": track})


def test_written_rows() -> None:
    assert marks_to_csv([acting()], first_frame=1001).splitlines() == [
        "frame,who,mark,x,y,error,placed",
        "1001,Ada,nose,0.250000,0.500000,0.000,1",
        "1002,Ada,nose,,,,0",
        "1003,Ada,nose,0.260000,0.500000,0.200,0",
    ]


def test_only_placed_marks_come_back() -> None:
    cast = parse_marks_csv(marks_to_csv([acting()]), Cast(), name="marks.csv")
    assert cast.characters == (Character(name="Ada", marks={"nose": (Placed(frame=1, x=0.25, y=0.5),)}),)


def test_marks_join_those_of_the_cast() -> None:
    before = Cast(characters=(Character(name="Ada", marks={"nose": (Placed(frame=9, x=0.1, y=0.1), Placed(frame=1, x=0, y=0))}),))
    after = parse_marks_csv(marks_to_csv([acting()]), before, name="marks.csv")
    assert after.characters[0].marks["nose"] == (Placed(frame=1, x=0.25, y=0.5), Placed(frame=9, x=0.1, y=0.1))


def test_an_unknown_name_with_free_marks_is_a_prop() -> None:
    cast = parse_marks_csv("frame,who,mark,x,y\n3,kite,handle,0.5,0.5\n", Cast(), name="marks.csv")
    assert cast.props[0].marks["handle"] == (Placed(frame=3, x=0.5, y=0.5),)


def test_names_that_a_spreadsheet_would_run_are_quoted_and_read_back() -> None:
    track = MarkTrack("=kite", "m", np.array([[0.5, 0.5]], np.float32), np.zeros(1, np.float32), (0,))
    text = marks_to_csv([Acting("=kite", 2, {"m": track})])
    assert ",'=kite," in text
    assert parse_marks_csv(text, Cast(), name="m").props[0].name == "=kite"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no column 'frame'"),
        ("frame,who,mark,x\n", "no column 'y'"),
        ("frame,who,mark,x,y\none,Ada,nose,0,0\n", "line 2"),
        ("frame,who,mark,x,y\n1,Ada,nose,nan,0\n", "no number"),
        ("frame,who,mark,x,y\n1,Ada,nose,1e999,0\n", "no number"),
        ("frame,who,mark,x,y\n1,,nose,0,0\n", "no character"),
        ("frame,who,mark,x,y\n1,Ada,nose,0\n", "line 2"),
        ("frame,who,mark,x,y\n1,Ada,nose,40,0\n", "not right"),
        ("frame,who,mark,x,y\n99999999999,Ada,nose,0,0\n", "not right"),
        ('frame,who,mark,x,y\n1,"Ada,nose,0,0\n', "not CSV"),
    ],
)
def test_a_broken_table_is_one_sentence(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        parse_marks_csv(text, Cast(), name="marks.csv")
    assert str(caught.value).startswith("marks.csv")
    assert "\n" not in str(caught.value)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_marks_csv(tmp_path / "none.csv")
    (tmp_path / "latin.csv").write_bytes(b"frame,who\xff")
    with pytest.raises(InputError, match="UTF-8"):
        read_marks_csv(tmp_path / "latin.csv")


def test_bom_of_a_spreadsheet_is_no_trouble(tmp_path: Path) -> None:
    (tmp_path / "bom.csv").write_bytes("\ufeffframe,who,mark,x,y\r\n1,Ada,nose,0.5,0.5\r\n".encode())
    assert read_marks_csv(tmp_path / "bom.csv").characters[0].name == "Ada"
