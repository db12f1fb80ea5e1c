"""A reading that breaks off, ours or a library's, is told under what was not measured, and all the rest stands."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from tests.make.films import make_film, numbered, tone

from shotcrit.errors import Died, MediaError
from shotcrit.measuring import acting, listening
from shotcrit.measuring import measure as measuring
from shotcrit.measuring.measure import Workbench, measure
from shotcrit.measuring.request import MeasureRequest
from shotcrit.readings.cast import parse_cast
from shotcrit.store.cache import open_cache
from shotcrit.unforeseen import FOLDER_SETTING

CAST = parse_cast({"props": [{"name": "kite", "marks": {"tail": [{"frame": 1, "x": 0.5, "y": 0.5}]}}]}, name="it")


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_film(tmp_path_factory.mktemp("film") / "kite.mp4", numbered(24), rate=Fraction(24), sound=tone(1.0))


@pytest.mark.parametrize(
    ("home", "name", "part"),
    [
        (measuring.SoundWork, "read", "sound"), (measuring, "rows_of_pass", "pictures"), (acting, "followed", "marks"),
        (acting, "read_scene_for", "scene"), (acting, "looks_of", "looks"),
    ],
)  # fmt: skip
def test_the_rest_stands(home: Any, name: str, part: str, film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_given: object, **_named: object) -> None:
        raise IndexError("Oona")

    monkeypatch.setenv(FOLDER_SETTING, str(tmp_path / "logs"))
    request = MeasureRequest(film, cast=CAST, scene=film if part == "scene" else None)
    with monkeypatch.context() as patch:
        patch.setattr(home, name, breaks)
        measured = measure(request, Workbench(open_cache(root=tmp_path / "cache")))
    (needs,) = [m.needs for m in measured.not_measured if m.check == part]
    (report,) = (tmp_path / "logs").iterdir()
    assert str(report) in needs
    assert (measured.readings.sound is None, measured.readings.picture is None) == (part == "sound", part == "pictures")
    if part == "scene":
        return
    # It was not kept, so that a mended program measures again.
    again = measure(request, Workbench(open_cache(root=tmp_path / "cache")))
    assert not [m for m in again.not_measured if m.check == part]


def test_a_sound_whose_reader_dies_is_not_read_in_its_place(film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def dies(*_given: object) -> None:
        raise Died("the work broke off (SIGSEGV); report-1.txt tells where", "SIGSEGV")

    monkeypatch.setattr(measuring, "worth_it", lambda _movie: True)
    monkeypatch.setattr(measuring, "read_elsewhere", dies)
    monkeypatch.setattr(listening.SoundWork, "read", None)  # would raise if called
    measured = measure(MeasureRequest(film), Workbench(open_cache(root=tmp_path)))
    assert [m.needs for m in measured.not_measured if m.check == "sound"] == [
        "mending, since it broke off here; the work broke off (SIGSEGV); report-1.txt tells where"
    ]
    assert measured.readings.picture is not None


def test_what_people_can_mend_is_refused_as_ever(film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*_given: object, **_named: object) -> None:
        raise MediaError("the disk is gone")

    monkeypatch.setattr(measuring, "rows_of_pass", gone)
    with pytest.raises(MediaError):
        measure(MeasureRequest(film), Workbench(open_cache(root=tmp_path)))
