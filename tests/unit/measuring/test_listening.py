"""The sound read in a process of its own: the same reading, the same errors, the same stop, and no harm where that process fails."""

from __future__ import annotations

import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from tests.make.films import make_film, numbered, tone

from shotcrit.errors import MediaError, Stopped
from shotcrit.measuring import listening
from shotcrit.measuring import measure as desk_measure
from shotcrit.measuring.listening import SoundWork, read_elsewhere, worth_it
from shotcrit.measuring.measure import Workbench, measure
from shotcrit.measuring.request import MeasureRequest
from shotcrit.media import Movie, open_movie
from shotcrit.progress import Quiet, Shared, StopAfter
from shotcrit.store.cache import open_cache

LENGTH_S = listening.SHORT_S + 1


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("film") / "kite.mp4"
    return make_film(path, numbered(24 * LENGTH_S), rate=Fraction(24), sound=tone(float(LENGTH_S)))


@pytest.fixture(scope="module")
def movie(film: Path) -> Movie:
    return open_movie(film)


def test_another_process_reads_the_same(movie: Movie) -> None:
    work, heard = SoundWork(movie), []

    class Listener:
        def step(self, stage: str, done: float, total: float | None) -> None:
            heard.append((stage, done, total))

    assert read_elsewhere(work, Listener()) == work.read(Quiet())
    assert ("reading the sound", 4, 4) in heard


def test_what_it_raises_is_raised_here(movie: Movie, film: Path, tmp_path: Path) -> None:
    moved = tmp_path / "gone.mp4"
    moved.write_bytes(film.read_bytes())
    other = open_movie(moved)
    moved.unlink()
    with pytest.raises(MediaError, match=r"gone\.mp4 does not exist"):
        read_elsewhere(SoundWork(other), Quiet())


def test_it_stops_when_asked(movie: Movie) -> None:
    with pytest.raises(Stopped):
        read_elsewhere(SoundWork(movie), StopAfter(1))


@pytest.mark.parametrize("program", ["/nowhere/python", "/bin/false"])
def test_without_it_the_sound_is_read_here(film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, program: str) -> None:
    monkeypatch.setattr(sys, "executable", program)
    monkeypatch.setattr(listening, "_cores", lambda: 2)
    measured = measure(MeasureRequest(film), Workbench(open_cache(root=tmp_path)))
    assert measured.readings.sound is not None
    assert len(measured.readings.sound.wave) == 24 * LENGTH_S


def test_one_core_reads_one_after_the_other(movie: Movie, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(listening, "_cores", lambda: 1)
    assert not worth_it(movie)
    monkeypatch.setattr(listening, "_cores", lambda: 2)
    assert worth_it(movie)
    assert not worth_it(replace(movie, info=replace(movie.info, width=None)))


def test_it_is_remembered(film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Workbench(open_cache(root=tmp_path))
    first = measure(MeasureRequest(film), bench)
    monkeypatch.setattr(desk_measure, "read_elsewhere", None)  # would raise if called
    again = measure(MeasureRequest(film), bench)
    assert again.readings.sound is not None
    assert first.readings.sound is not None
    assert again.readings.sound.accents == first.readings.sound.accents


@pytest.mark.parametrize("part", ["read_elsewhere", "rows_of_pass"])
def test_the_first_failure_is_the_one_that_is_told(film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, part: str) -> None:
    def fails(*_arguments: object, **_more: object) -> None:
        raise MediaError("the kite is torn")

    monkeypatch.setattr(listening, "_cores", lambda: 2)
    monkeypatch.setattr(desk_measure, part, fails)
    with pytest.raises(MediaError, match="the kite is torn"):
        measure(MeasureRequest(film), Workbench(open_cache(root=tmp_path)))


def test_after_a_failure_the_others_stop_at_their_next_step() -> None:
    watch = Shared(Quiet())
    watch.step("reading pictures", 1, 2)
    with pytest.raises(ZeroDivisionError):
        watch.run(lambda: 1 // 0)
    with pytest.raises(Stopped):
        watch.step("reading pictures", 2, 2)
    with pytest.raises(KeyError):
        watch.run(lambda: {}[1])
    assert isinstance(watch.failure, ZeroDivisionError)
