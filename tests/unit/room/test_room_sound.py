"""A take whose sound lies in a file of its own keeps it: opened again, measured again, and known as the same medium."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from tests.make.films import clicks, make_film, make_sequence, make_sound, numbered, tone

from shotcrit.crit.records import Take
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.request import MeasureRequest
from shotcrit.measuring.take import take_request
from shotcrit.media import MovieInfo
from shotcrit.room.local_worker import LocalWorker
from shotcrit.room.takes.adding import take_of
from shotcrit.store.cache import open_cache


@pytest.fixture(params=["run of pictures", "movie with another sound"])
def asked(request: pytest.FixtureRequest, tmp_path: Path) -> MeasureRequest:
    wave = make_sound(tmp_path / "kite.wav", clicks(2.0, [0.5]))
    if request.param == "run of pictures":
        return MeasureRequest(make_sequence(tmp_path / "run", numbered(24)), sound=wave, rate=Fraction(25), first_frame=1001)
    return MeasureRequest(make_film(tmp_path / "kite.mp4", numbered(24), rate=Fraction(24), sound=tone(1.0)), sound=wave, first_frame=1001)


def opened(asked: MeasureRequest) -> tuple[MovieInfo, Take]:
    info = open_medium(asked).info
    return info, take_of(info, shot="shot", number=1)


def test_a_take_opens_with_its_own_sound(asked: MeasureRequest, tmp_path: Path) -> None:
    info, take = opened(asked)
    assert take.sound_path == str(asked.sound)
    movie = LocalWorker(cache=tmp_path / "cache").movie(take)
    assert movie.info == info
    sound = movie.sound()
    assert sound is not None
    loud = np.abs(sound.samples[:, 0]) > 0.25
    assert int(np.argmax(loud)) / sound.rate == pytest.approx(0.5, abs=1e-3)


def test_measuring_it_again_reads_the_same(asked: MeasureRequest, tmp_path: Path) -> None:
    _, take = opened(asked)
    first = measure(asked, Workbench(open_cache(root=tmp_path / "a"), proxy=False))
    again = measure(take_request(take, {}), Workbench(open_cache(root=tmp_path / "b"), proxy=False))
    assert first.readings.sound is not None
    assert again.readings.sound is not None
    np.testing.assert_array_equal(first.readings.sound.wave, again.readings.sound.wave)
    assert again.readings.movie.sha256 == take.sha256


def test_it_is_looked_at_with_its_sound(asked: MeasureRequest, tmp_path: Path) -> None:
    info, take = opened(asked)
    assert take.sound_path is not None
    worker = LocalWorker(cache=tmp_path / "cache")
    if info.width and "#" not in take.path:
        assert worker.look_at(Path(take.path), sound=Path(take.sound_path))[0].sha256 == take.sha256
        assert worker.look_at(Path(take.path))[0].sha256 != take.sha256


def test_a_movie_with_its_own_sound_names_no_other(tmp_path: Path) -> None:
    film = make_film(tmp_path / "kite.mp4", numbered(24), rate=Fraction(24), sound=tone(1.0))
    info, take = opened(MeasureRequest(film))
    assert info.sound_path is None
    assert take.sound_path is None
