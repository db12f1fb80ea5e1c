"""What measuring takes for granted reaches the JSON, which keeps to its schema, and the table that people read."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from tests.make.films import make_film, make_sequence, make_sound, numbered, tone
from tests.make.scenes import CAST_SCENE, write_usd

from shotcrit.checks.measured import Measured
from shotcrit.deliver.measure_json import measure_document, measure_schema
from shotcrit.deliver.table import measure_table_text
from shotcrit.measuring.assumed import assumed_of
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.request import MeasureRequest, request_from_files
from shotcrit.sheet.plain import sentence
from shotcrit.store.cache import open_cache


def told(measured: Measured) -> list[tuple[str, str]]:
    document = measure_document(measured)
    jsonschema.Draft202012Validator(measure_schema()).validate(document)
    table = " ".join(measure_table_text(measured, width=400).split())
    for item in document["assumed"]:
        assert item["says"].rstrip(".") in table
    return [(item["about"], item["says"]) for item in document["assumed"]]


def done(request: MeasureRequest, folder: Path) -> Measured:
    return measure(request, Workbench(open_cache(root=folder / "cache"), proxy=False))


@pytest.fixture
def film(tmp_path: Path) -> Path:
    return make_film(tmp_path / "kite.mp4", numbered(24), rate=Fraction(24), sound=tone(1.0))


def test_a_plain_movie_takes_nothing_for_granted(film: Path, tmp_path: Path) -> None:
    assert told(done(MeasureRequest(film), tmp_path)) == []


def test_a_scene_with_other_rate_and_units(film: Path, tmp_path: Path) -> None:
    scene = write_usd(tmp_path / "kite.usda", rate=30.0, metres=0.01)
    cast = tmp_path / "cast.json"
    cast.write_text(json.dumps({"characters": [{"name": "Ada", "scene": CAST_SCENE}], "metres_per_unit": 1.0}))
    found = told(done(request_from_files(film, cast=cast, scene=scene), tmp_path))
    assert ("scene", "The stage has 30 time codes a second, the movie 24 frames a second; it is matched by time.") in found
    assert all(about == "scene" for about, _ in found)


def test_a_scene_without_a_cast_is_not_used_and_that_is_said(film: Path, tmp_path: Path) -> None:
    scene = write_usd(tmp_path / "kite.usda")
    found = told(done(request_from_files(film, scene=scene), tmp_path))
    assert any("nothing of kite.usda is used: a cast has to say which of its nodes is what".lower() in says.lower() for _, says in found)


@pytest.mark.parametrize(("frames", "told_of"), [((999,), True), ((999, 5), False), ((25,), True), ((24,), False)])
def test_marks_placed_on_no_frame_of_the_movie(film: Path, tmp_path: Path, frames: tuple[int, ...], told_of: bool) -> None:
    marks = {"handle": [{"frame": f, "x": 0.5, "y": 0.5} for f in frames]}
    cast = tmp_path / "cast.json"
    cast.write_text(json.dumps({"props": [{"name": "kite", "marks": marks}]}))
    found = told(done(request_from_files(film, cast=cast), tmp_path))
    says = "The movie's frames are 1 to 24, and the cast places kite.handle outside of them: not followed; see --first-frame."
    assert found == ([("movie", says)] if told_of else [])


def test_rates_that_nobody_said(tmp_path: Path) -> None:
    pictures = make_sequence(tmp_path / "run", numbered(5))
    wave = make_sound(tmp_path / "kite.wav", tone(1.0))
    assert "24 frames a second are taken" in told(done(MeasureRequest(wave), tmp_path))[0][1]
    found = told(done(MeasureRequest(pictures, sound=wave), tmp_path))
    assert [about for about, _ in found] == ["movie", "movie", "sound"]
    assert found[1][1] == "Frames are counted from 1001, the number in the first picture's name; say another with --first-frame."
    assert found[2][1] == "The first sample of kite.wav is taken to belong to the first picture."
    assert told(done(MeasureRequest(wave, rate=Fraction(25)), tmp_path)) == []


def test_a_run_that_is_counted_otherwise_than_its_names(tmp_path: Path) -> None:
    run = make_sequence(tmp_path / "run", numbered(3), start=1)
    assert len(assumed_of(MeasureRequest(run), open_medium(MeasureRequest(run)).info)) == 1
    request = MeasureRequest(run, first_frame=101, rate=Fraction(24))
    assert [a.says for a in assumed_of(request, open_medium(request).info)] == [
        "frames are counted from 101, and the pictures' names from 1"
    ]


def test_a_movie_cut_off_in_its_middle(tmp_path: Path) -> None:
    whole = make_film(tmp_path / "whole.mkv", numbered(48, size=(320, 180)), rate=Fraction(24))
    torn = tmp_path / "torn.mkv"
    torn.write_bytes(whole.read_bytes()[: whole.stat().st_size * 2 // 3])
    about, says = told(done(MeasureRequest(torn), tmp_path))[0]
    assert about == "movie"
    assert "stops before its own end" in says


@pytest.mark.parametrize(
    ("words", "written"),
    [
        ("the stage ends early", "The stage ends early."),
        ("kite.mov stops", "kite.mov stops."),
        ("/a/kite stops.", "/a/kite stops."),
        ("", "."),
    ],
)
def test_sentences_keep_the_names_of_files(words: str, written: str) -> None:
    assert sentence(words) == written


def test_what_was_not_taken_for_words_is_said(film: Path, tmp_path: Path) -> None:
    lines = tmp_path / "lines.srt"
    lines.write_text("1\n00:00:00,000 --> 00:00:01,000\nOONA (V.O.): <laugh> *sighs* Well [softly] so. (beat)\n", encoding="utf-8")
    request = request_from_files(film, lines=lines)
    (found,) = [a.says for a in assumed_of(request, open_medium(request).info)]
    assert found == "'(V.O.)', '<laugh>', '*sighs*', '[softly]' and 1 more are taken for stage directions and not spoken"


def test_lines_that_are_not_english_are_named(film: Path, tmp_path: Path) -> None:
    lines = tmp_path / "lines.txt"
    lines.write_text("Oona: Я не знаю.\nBram: You know it.\nOona: Да.\nBram: Je ne sais pas, et tu es là.\n", encoding="utf-8")
    request = request_from_files(film, lines=lines)
    latin, french = [a.says for a in assumed_of(request, open_medium(request).info)]
    assert latin.startswith("'Я не знаю.' and 'Да.' are not aligned: they are not written in Latin letters")
    assert french.startswith("'Je ne sais pas, et tu es là.' is not aligned: it seems to be in French")
    assert latin.endswith("as a TextGrid")
