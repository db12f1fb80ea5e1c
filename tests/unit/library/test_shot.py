"""A measured shot as a script sees it: frames as people count them, arrays with units, tables."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas
import polars
import pytest
from tests.make.films import make_film, numbered
from tests.make.measured import CUTS, FIRST_FRAME, FRAMES, measured

import shotcrit
from shotcrit.errors import InputError, MissingExtra, Stopped
from shotcrit.library import tables
from shotcrit.library.shot import Shot
from shotcrit.measuring.measure import Workbench
from shotcrit.store.cache import open_cache


@pytest.fixture(scope="module")
def shot() -> Shot:
    known = measured()
    return Shot(known, cast(Any, SimpleNamespace(info=known.readings.movie)), Workbench())


def test_frames_are_counted_as_people_count_them(shot):
    known = measured()
    assert shot.cuts == [FIRST_FRAME + cut for cut in CUTS]
    assert (shot.frames[0], shot.frames[-1]) == (FIRST_FRAME, FIRST_FRAME + FRAMES - 1)
    assert [(f.first, f.last) for f in shot.findings] == [(f.span.start + FIRST_FRAME, f.span.last + FIRST_FRAME) for f in known.findings]
    word, heard = shot.words[0], known.readings.sound.words[0]
    assert (word.text, word.start_s) == (heard.text, heard.start_s)
    assert word.first == FIRST_FRAME + int(heard.start_s * 24)
    assert shot.blinks[0].first == FIRST_FRAME + 30
    assert shot.looks[0].first == FIRST_FRAME


def test_every_list_counts_itself_and_makes_a_table(shot):
    told = {"findings": "5 findings", "words": "9 words", "cuts": None}
    assert repr(shot.findings) == f"<{told['findings']}>"
    for name in ("findings", "not_measured", "words", "phones", "breaths", "accents", "tremors", "lines", "looks", "blinks"):
        items = getattr(shot, name)
        assert repr(items).startswith("<")
        frame = items.to_frame("pandas")
        assert len(frame) == len(items)
        assert isinstance(items.to_frame("polars"), polars.DataFrame)
        assert items._repr_html_().count("<tr>") == min(len(items), 24) + 1
    assert isinstance(shot.words.to_frame(), pandas.DataFrame)
    assert list(shot.words.to_frame().columns)[:4] == ["text", "who", "start_s", "end_s"]


def test_a_table_keeps_hostile_words_harmless(shot):
    items = type(shot.words)([shotcrit.Word("<script>", None, 0.0, 1.0, 1, 2, 1.0, 0)], shotcrit.Word, "word")
    assert "<script>" not in items._repr_html_()


def test_where_picks_by_fields(shot):
    must = shot.findings.where(weight="must")
    assert 0 < len(must) < len(shot.findings)
    assert all(f.weight == "must" for f in must)
    with pytest.raises(AttributeError, match="has no 'wait'; it has check, kind"):
        shot.findings.where(wait="must")


def test_series_are_arrays_with_unit_and_clock(shot):
    for name, series in shot.series.items():
        assert len(series) == FRAMES, name
        assert series.unit, name
        assert series.clock is shot.clock
        assert series.frames[0] == FIRST_FRAME
    movement = shot.series["movement"]
    assert np.asarray(movement).shape == (FRAMES,)
    assert np.nanmax(movement) == np.nanmax(movement.values)
    assert list(movement.to_frame("pandas").columns) == ["frame", "seconds", "movement"]
    assert list(shot.series["wave"].to_frame("pandas").columns)[2:4] == ["wave.0", "wave.1"]
    assert shot.series["dead"].values.sum() == 7
    assert {"Oona.mouth.opening", "Oona.mouth.wanted", "Bram.mouth.wanted", "Oona.marks.chest"} <= set(shot.series)


def test_neither_library_is_needed_until_a_frame_is_asked_for(shot, monkeypatch):
    monkeypatch.setattr(tables, "find_spec", lambda name: None)
    with pytest.raises(MissingExtra, match="pip install pandas"):
        shot.words.to_frame()
    with pytest.raises(InputError, match="pandas or polars"):
        shot.words.to_frame("excel")


def test_the_sheet_is_a_drawing_that_stands_alone(shot):
    drawn = shot.sheet(1010, 1033)
    assert repr(drawn) == "<sheet of frames 1010 to 1033>"
    root = ET.fromstring(drawn._repr_svg_())
    texts = {"".join(text.itertext()) for text in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"1010", "1033", "words"} <= texts
    assert "1034" not in texts
    assert "@font-face" in drawn.svg
    with pytest.raises(InputError, match="1001 to 1264"):
        shot.sheet(1, 20)


def test_a_movie_is_measured_remembered_and_stopped(tmp_path: Path, monkeypatch):
    monkeypatch.setenv("SHOTCRIT_CACHE", str(tmp_path / "cache"))
    film = make_film(tmp_path / "kite.mp4", numbered(12))
    stages: list[str] = []
    first = shotcrit.measure(film, first_frame=101, limits={"hold.ends": 2}, progress=lambda stage, done, total: stages.append(stage))
    assert repr(first).startswith("<Shot kite.mp4: frames 101 to 112 at 24, ")
    assert first.rate == Fraction(24)
    assert stages
    assert first.document()["schema"] == "shotcrit.measure/1"
    assert not list((tmp_path / "cache").rglob("proxy*"))
    monkeypatch.setattr("shotcrit.library.shot.measure_request", lambda *_a, **_k: pytest.fail("it was measured before"))
    assert shotcrit.measure(str(film), first_frame=101, limits={"hold.ends": 2}).findings == first.findings
    monkeypatch.undo()

    def stop(*_step: object) -> None:
        raise Stopped("reading")

    with pytest.raises(Stopped):
        shotcrit.measure(film, progress=stop, rate=None, first_frame=5)


def test_pictures_for_the_room_are_made_when_they_are_asked_for(tmp_path: Path, monkeypatch):
    monkeypatch.setenv("SHOTCRIT_CACHE", str(tmp_path / "cache"))
    shotcrit.measure(make_film(tmp_path / "kite.mp4", numbered(3)), pictures=True)
    assert list(open_cache().root.rglob("*.jpg"))


@pytest.mark.parametrize("given", [{"lines": "no.txt"}, {"limits": {"hold.none": 1}}, {"rate": "fast"}, {"cast": "no.json"}])
def test_bad_input_is_one_sentence(tmp_path: Path, given):
    film = make_film(tmp_path / "kite.mp4", numbered(3))
    with pytest.raises(shotcrit.ShotcritError):
        shotcrit.measure(film, **given)
