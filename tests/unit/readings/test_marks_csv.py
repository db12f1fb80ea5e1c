"""Marks to a table and back; hostile tables give one sentence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotcrit.errors import InputError
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.cast import MARK_NAMES, Cast, Character, Placed, Prop
from shotcrit.readings.marks_csv import cast_to_csv, parse_marks_csv, read_marks_csv


def ada(**marks: tuple[Placed, ...]) -> Cast:
    return Cast(characters=(Character(name="Ada", marks=dict(marks)),))


def acting() -> Acting:
    xy = np.array([[0.25, 0.5], [np.nan, np.nan], [0.26, 0.5]], np.float32)
    track = MarkTrack("Ada", "nose", xy, np.array([0, np.nan, 0.2], np.float32), (0,))
    return Acting("Ada", 2, {"nose": track})


def test_written_rows() -> None:
    cast = ada(nose=(Placed(frame=1001, x=1 / 3, y=0.5),))
    assert cast_to_csv(cast, [acting()], first_frame=1001).splitlines() == [
        "frame,who,mark,x,y,error,placed,kind",
        "1001,Ada,nose,0.3333333333333333,0.5,0,1,character",
        "1002,Ada,nose,,,,0,character",
        "1003,Ada,nose,0.260000,0.500000,0.200,0,character",
    ]


def test_without_followed_marks_the_placed_ones_stand_alone() -> None:
    cast = ada(nose=(Placed(frame=9, x=0.1, y=0.5), Placed(frame=3, x=0.2, y=0.5)))
    assert [row.split(",")[0] for row in cast_to_csv(cast).splitlines()[1:]] == ["3", "9"]


def test_only_placed_marks_come_back() -> None:
    cast = ada(nose=(Placed(frame=1, x=0.25, y=0.5),))
    assert parse_marks_csv(cast_to_csv(cast, [acting()]), Cast(), name="marks.csv") == cast


def test_marks_join_those_of_the_cast() -> None:
    before = ada(nose=(Placed(frame=9, x=0.1, y=0.1), Placed(frame=1, x=0, y=0)))
    table = cast_to_csv(ada(nose=(Placed(frame=1, x=0.25, y=0.5),)))
    after = parse_marks_csv(table, before, name="marks.csv")
    assert after.characters[0].marks["nose"] == (Placed(frame=1, x=0.25, y=0.5), Placed(frame=9, x=0.1, y=0.1))


names = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=12).filter(lambda name: name != "camera")
fractions = st.floats(-2, 3)
frames = st.integers(-10_000_000, 10_000_000)


@st.composite
def casts(draw: st.DrawFn) -> Cast:
    """Casts in which everybody has a mark, and every mark a place; a mark's places in order of frames."""

    def places() -> tuple[Placed, ...]:
        spots = draw(st.dictionaries(frames, st.tuples(fractions, fractions), min_size=1, max_size=4))
        return tuple(Placed(frame=f, x=x, y=y) for f, (x, y) in sorted(spots.items()))

    who = draw(st.lists(names, unique=True, max_size=4))
    people = draw(st.integers(0, len(who)))
    known = st.sets(st.sampled_from(sorted(MARK_NAMES)), min_size=1, max_size=3)
    characters = tuple(Character(name=w, marks={m: places() for m in sorted(draw(known))}) for w in who[:people])
    props = tuple(Prop(name=w, marks={m: places() for m in sorted(draw(st.sets(names, min_size=1, max_size=3)))}) for w in who[people:])
    return Cast(characters=characters, props=props)


@given(casts())
@settings(max_examples=150)
def test_a_table_loses_nothing(cast: Cast) -> None:
    """Every placed mark comes back to the last digit, under its own name and kind, whatever the names hold."""
    table = cast_to_csv(cast)
    back = parse_marks_csv(table, Cast(), name="marks.csv")
    assert back == cast
    assert cast_to_csv(back) == table


def test_an_unknown_name_with_free_marks_is_a_prop() -> None:
    cast = parse_marks_csv("frame,who,mark,x,y\n3,kite,handle,0.5,0.5\n", Cast(), name="marks.csv")
    assert cast.props[0].marks["handle"] == (Placed(frame=3, x=0.5, y=0.5),)


def test_names_that_a_spreadsheet_would_run_are_quoted_and_read_back() -> None:
    cast = Cast(props=(Prop(name="=kite", marks={"m": (Placed(frame=1, x=0.5, y=0.5),)}),))
    text = cast_to_csv(cast)
    assert ",'=kite," in text
    assert parse_marks_csv(text, Cast(), name="m") == cast


def test_a_kind_that_is_none_is_said() -> None:
    with pytest.raises(InputError, match=r"line 2 has the kind 'tree'"):
        parse_marks_csv("frame,who,mark,x,y,kind\n3,kite,handle,0.5,0.5,tree\n", Cast(), name="marks.csv")


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
