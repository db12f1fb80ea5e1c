"""One pass feeds all readings and the proxy; stopped anywhere and resumed it gives what an unbroken one gives."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.make.films import make_film, make_sequence, make_sound, numbered, read_stamp, tone
from tests.make.passes import MemoryBlocks, run_pass

from shotcrit.errors import MediaError, ReadingError, Stopped
from shotcrit.media import Movie, MovieInfo, Picture, open_movie
from shotcrit.media import blocks as blocks_module
from shotcrit.media.blocks import FloatArray, block_frames
from shotcrit.media.proxy import CHUNK, ProxyWriter, build_proxy, proxy_of, still
from shotcrit.progress import StopAfter
from shotcrit.store.cache import open_cache

BLOCK = 32
"""Frames a block in these tests, so that they stay quick."""
COUNT = 2 * BLOCK + 11


@pytest.fixture(scope="module", autouse=True)
def _small_blocks() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(blocks_module, "BLOCK", BLOCK)
        yield


class Step:
    """Mean difference from the picture before, and the number in the pixels. Counts what it is shown."""

    NAME, VERSION, WARMUP, COLUMNS = "step", 1, 1, ("difference", "number")

    def __init__(self) -> None:
        self.last: np.ndarray | None = None
        self.fed: list[int] = []

    def start(self, info: MovieInfo) -> None:
        self.last = None

    def feed(self, picture: Picture) -> FloatArray | None:
        self.fed.append(picture.index)
        grey = picture.luma(96)
        difference = np.nan if self.last is None else np.abs(grey.astype(int) - self.last).mean()
        self.last = grey
        return np.array([difference, read_stamp(picture.luma(192)) or 0], np.float32)


class Trail(Step):
    """Needs five pictures before: the sum of the last six means."""

    NAME, WARMUP, COLUMNS = "trail", 5, ("sum",)

    def start(self, info: MovieInfo) -> None:
        self.means: list[float] = []

    def feed(self, picture: Picture) -> FloatArray | None:
        self.means.append(float(picture.luma(48).mean()))
        return np.array([sum(self.means[-6:])], np.float32) if len(self.means) >= 6 else None


@pytest.fixture(scope="module")
def movie(tmp_path_factory: pytest.TempPathFactory) -> Movie:
    return open_movie(make_film(tmp_path_factory.mktemp("pass") / "long.mp4", numbered(COUNT, size=(192, 108)), gop=12))


@pytest.fixture(scope="module")
def unbroken(movie: Movie) -> dict[str, FloatArray]:
    return run_pass(movie, [Step(), Trail()])


def test_rows_are_those_of_their_frames(unbroken: dict[str, FloatArray]) -> None:
    assert unbroken["step"].shape == (COUNT, 2)
    assert unbroken["step"].dtype == np.float32
    np.testing.assert_array_equal(unbroken["step"][:, 1], np.arange(COUNT))
    assert np.isnan(unbroken["step"][:, 0]).nonzero()[0].tolist() == [0]
    assert np.isnan(unbroken["trail"][:, 0]).nonzero()[0].tolist() == [0, 1, 2, 3, 4]


def test_it_equals_the_slow_obvious_way(movie: Movie, unbroken: dict[str, FloatArray]) -> None:
    greys = [p.luma(96).astype(int) for p in movie.pictures()]
    slow = [np.abs(b - a).mean() for a, b in pairwise(greys)]
    np.testing.assert_array_equal(unbroken["step"][1:, 0], np.array(slow, np.float32))


@pytest.mark.parametrize("at", [0, 1, 17, BLOCK - 1, BLOCK, BLOCK + 1, 2 * BLOCK - 1, 2 * BLOCK + 3, COUNT - 1])
def test_stopped_and_resumed_is_as_unbroken(movie: Movie, unbroken: dict[str, FloatArray], at: int) -> None:
    kept = MemoryBlocks()
    with pytest.raises(Stopped):
        run_pass(movie, [Step(), Trail()], blocks=kept, progress=StopAfter(at))
    assert {block for _, _, block in kept.kept} == set(range(at // BLOCK))
    rest = Step()
    again = run_pass(movie, [rest, Trail()], blocks=kept)
    for name in unbroken:
        np.testing.assert_array_equal(again[name], unbroken[name])
    assert rest.fed[0] == max(0, at // BLOCK * BLOCK - 1)


def test_keyboard_interrupt_keeps_what_is_done(movie: Movie, unbroken: dict[str, FloatArray], tmp_path: Path) -> None:
    class CtrlC:
        def step(self, stage: str, done: float, total: float | None) -> None:
            if done == BLOCK + 20:
                raise KeyboardInterrupt

    kept = open_cache(root=tmp_path).medium(movie.info.sha256)
    with pytest.raises(KeyboardInterrupt):
        run_pass(movie, [Step()], blocks=kept, progress=CtrlC())
    assert kept.load("step", 1, 0) is not None
    assert kept.load("step", 1, 1) is None
    np.testing.assert_array_equal(run_pass(movie, [Step()], blocks=kept)["step"], unbroken["step"])


def test_what_is_kept_is_not_read_again(movie: Movie, unbroken: dict[str, FloatArray], tmp_path: Path) -> None:
    kept = open_cache(root=tmp_path).medium(movie.info.sha256)
    run_pass(movie, [Step()], blocks=kept)
    first, second = Step(), Trail()
    both = run_pass(movie, [first, second], blocks=kept)
    assert first.fed == []
    np.testing.assert_array_equal(both["trail"], unbroken["trail"])
    newer = Step()
    newer.VERSION = 2
    run_pass(movie, [newer], blocks=kept)
    assert set(newer.fed) == set(range(COUNT))


def test_a_damaged_block_is_made_again(movie: Movie, unbroken: dict[str, FloatArray], tmp_path: Path) -> None:
    cache = open_cache(root=tmp_path)
    run_pass(movie, [Step()], blocks=cache.medium(movie.info.sha256))
    victim = sorted(cache.root.rglob("*.rows"))[1]
    victim.write_bytes(victim.read_bytes()[:-3])
    reader = Step()
    again = run_pass(movie, [reader], blocks=cache.medium(movie.info.sha256))
    np.testing.assert_array_equal(again["step"], unbroken["step"])
    assert (reader.fed[0], reader.fed[-1]) == (BLOCK - 1, 2 * BLOCK - 1)


def test_a_cache_that_is_emptied_meanwhile_does_no_harm(movie: Movie, unbroken: dict[str, FloatArray], tmp_path: Path) -> None:
    cache = open_cache(root=tmp_path)

    class Emptier:
        def step(self, stage: str, done: float, total: float | None) -> None:
            if done == BLOCK + 5:
                cache.clear()

    got = run_pass(movie, [Step()], blocks=cache.medium(movie.info.sha256), progress=Emptier())
    np.testing.assert_array_equal(got["step"], unbroken["step"])


def test_around_the_playhead_first(movie: Movie, unbroken: dict[str, FloatArray]) -> None:
    reader = Step()
    got = run_pass(movie, [reader], around=lambda: COUNT - 10)
    np.testing.assert_array_equal(got["step"], unbroken["step"])
    assert reader.fed[0] == 2 * BLOCK - 1


def test_progress_counts_every_picture_once(movie: Movie) -> None:
    seen: list[tuple[float, float | None]] = []

    class Watch:
        def step(self, stage: str, done: float, total: float | None) -> None:
            seen.append((done, total))

    run_pass(movie, [Step(), Trail()], progress=Watch())
    assert seen == [(i + 1, COUNT) for i in range(COUNT)]


def test_a_picture_that_is_not_there_gives_nan(tmp_path: Path) -> None:
    rows = run_pass(open_movie(make_sequence(tmp_path, numbered(8), skip=(1004, 1005))), [Step()])["step"]
    assert np.isnan(rows[:, 1]).nonzero()[0].tolist() == [3, 4]


def test_readers_that_break_their_word(movie: Movie) -> None:
    class Greedy(Step):
        WARMUP = 1000

    class Loose(Step):
        def feed(self, picture: Picture) -> FloatArray | None:
            return np.zeros(1 + picture.index % 2, np.float32)

    for readers, said in (([Greedy()], "warm-up"), ([Loose()], "different shapes"), ([Step(), Step()], "alike")):
        with pytest.raises(ReadingError, match=said):
            run_pass(movie, readers)


def test_an_error_in_a_reader_comes_through(movie: Movie) -> None:
    class Broken(Step):
        def feed(self, picture: Picture) -> FloatArray | None:
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        run_pass(movie, [Broken()])


def test_a_sound_alone_has_no_rows(tmp_path: Path) -> None:
    sound = open_movie(make_sound(tmp_path / "a.wav", tone(0.5)))
    assert run_pass(sound, [Step()])["step"].shape == (0, 2)
    assert build_proxy(sound, tmp_path / "p").frames == 0


def shown(path: Path) -> int | None:
    return read_stamp(cv2.imread(str(path)))


def test_the_proxy_comes_from_the_same_pass(movie: Movie, unbroken: dict[str, FloatArray], tmp_path: Path) -> None:
    proxy = proxy_of(movie, tmp_path / "p")
    with pytest.raises(Stopped):
        run_pass(movie, [Step()], sinks=[ProxyWriter(proxy)], progress=StopAfter(BLOCK + 10))
    assert proxy.has(0)
    assert proxy.has(BLOCK - 1)
    assert not proxy.has(COUNT - 1)
    got = run_pass(movie, [Step()], sinks=[ProxyWriter(proxy)])
    np.testing.assert_array_equal(got["step"], unbroken["step"])
    assert proxy.complete()
    assert sorted(p.name for p in proxy.folder.iterdir()) == [f"{i:06d}.jpg" for i in range(COUNT)]
    assert [shown(proxy.path(i)) for i in (0, 1, 31, 32, 63, COUNT - 1)] == [0, 1, 31, 32, 63, COUNT - 1]


def test_a_proxy_picture_that_was_lost_is_made_again(movie: Movie, tmp_path: Path) -> None:
    proxy = build_proxy(movie, tmp_path / "p")
    proxy.path(40).unlink()
    reader = Step()
    kept = MemoryBlocks()
    run_pass(movie, [Step()], blocks=kept)
    run_pass(movie, [reader], sinks=[ProxyWriter(proxy_of(movie, tmp_path / "p"))], blocks=kept)
    assert shown(proxy.path(40)) == 40
    assert reader.fed == []


def test_the_proxy_starts_where_the_playhead_is(movie: Movie, tmp_path: Path) -> None:
    with pytest.raises(Stopped):
        build_proxy(movie, tmp_path / "p", around=lambda: 60, progress=StopAfter(CHUNK + 1))
    made = sorted(int(p.stem) for p in (tmp_path / "p").glob("*.jpg"))
    assert set(range(48, 72)) <= set(made)
    assert 0 not in made


def test_proxy_size_and_still(tmp_path: Path) -> None:
    movie = open_movie(make_film(tmp_path / "wide.mp4", numbered(2, size=(1440, 810)), codec="mjpeg", pix_fmt="yuvj420p"))
    proxy = build_proxy(movie, tmp_path / "p")
    assert cv2.imread(str(proxy.path(0))).shape == (720, 1280, 3)
    full = cv2.imdecode(np.frombuffer(still(movie, 1), np.uint8), cv2.IMREAD_COLOR)
    assert full.shape == (810, 1440, 3)
    assert read_stamp(full) == 1
    small = cv2.imdecode(np.frombuffer(still(movie, 1, width=320), np.uint8), cv2.IMREAD_COLOR)
    assert small.shape == (180, 320, 3)
    with pytest.raises(MediaError, match="no picture 3"):
        still(movie, 2)


def test_blocks_cover_every_frame_once() -> None:
    assert [i for b in range(3) for i in block_frames(b, COUNT)] == list(range(COUNT))
