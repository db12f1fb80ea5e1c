"""Rooms served for a browser: a real server on a real port, over a film whose frame numbers can be read and a measurement that is known."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from itertools import count
from pathlib import Path
from time import sleep
from typing import Any

import cv2
import numpy as np

from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock
from shotcrit.crit.records import Take
from shotcrit.media.info import MovieInfo
from shotcrit.progress import Progress, Quiet
from shotcrit.room.local_pictures import LocalPictures
from shotcrit.room.local_worker import LocalWorker
from shotcrit.room.opening import add_movie, open_crit
from shotcrit.room.serve import Serving, prepare
from tests.make import films
from tests.make.measured import FRAMES, measured

STEP_S = 0.05
LINES = "Oona: But you promised me the lighthouse.\nBram: I know what I promised.\n"


@lru_cache(maxsize=8)
def _looked_at(path: Path, _stamp: int, first_frame: int | None, sound: Path | None) -> tuple[MovieInfo, FrameClock]:
    return LocalWorker().look_at(path, first_frame=first_frame, sound=sound)


@dataclass(frozen=True)
class KnownWorker(LocalWorker):
    """Everything is real (pictures, sound, sending) but the measurement, which is written down in make/measured.py. A film is opened once."""

    def look_at(self, path: Path, *, first_frame: int | None = None, sound: Path | None = None) -> tuple[MovieInfo, FrameClock]:
        return _looked_at(path, path.stat().st_mtime_ns, first_frame, sound)

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return measured()

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        progress.step("looking at pictures", 1, 1)
        return measured()


def scene(pictures: int, *, size: tuple[int, int] = (640, 360)) -> Iterator[films.RGB]:
    """Oona in front of the lighthouse: a plain drawing, whose head and eyes move, so that screenshots show a picture and not a test card."""
    width, height = size
    unit = height / 100

    def at(x: float, y: float) -> tuple[int, int]:
        return round(x * unit), round(y * unit)

    for i in range(pictures):
        picture = np.full((height, width, 3), (148, 168, 178), np.uint8)
        turn = math.sin(i / 19) * 3
        cv2.rectangle(picture, at(132, 18), at(146, 92), (214, 208, 194), -1)
        for band in (26, 54, 80):
            cv2.rectangle(picture, at(132, band), at(146, band + 7), (164, 62, 56), -1)
        cv2.ellipse(picture, at(90, 118), at(110, 34), 0, 0, 360, (88, 116, 84), -1)
        cv2.ellipse(picture, at(62 + turn / 2, 104), at(22, 30), 0, 0, 360, (64, 86, 126), -1)
        cv2.circle(picture, at(62 + turn, 52 + math.sin(i / 7)), round(19 * unit), (222, 176, 144), -1, cv2.LINE_AA)
        cv2.ellipse(picture, at(62 + turn, 40), at(19, 10), 0, 180, 360, (62, 44, 36), -1)
        for side in (-7, 7):
            cv2.circle(picture, at(62 + turn + side, 50), round(4.6 * unit), (246, 246, 240), -1, cv2.LINE_AA)
            cv2.circle(picture, at(63.6 + turn + side, 49), round(2 * unit), (52, 62, 56), -1, cv2.LINE_AA)
        cv2.ellipse(picture, at(62 + turn, 62), at(5, 1 + 2 * abs(math.sin(i / 3))), 0, 0, 360, (120, 44, 48), -1)
        yield picture


def numbered_film(folder: Path, *, frames: int, size: tuple[int, int] = (320, 180), drawn: bool = False) -> Path:
    """A film whose frame numbers can be read, with a click at each whole second; drawn: over a picture like a film's, not over a texture."""
    sound = films.clicks(frames / 24, [float(s) for s in range(1, frames // 24)])
    pictures = (films.stamp(p, i) for i, p in enumerate(scene(frames, size=size))) if drawn else films.numbered(frames, size=size)
    return films.make_film(folder / "numbered.mp4", pictures, sound=sound, gop=12)


def lantern_scene(folder: Path) -> Path:
    """As many frames as make/measured.py speaks of, with a tone."""
    return films.make_film(folder / "lantern_040.mp4", scene(FRAMES), sound=films.tone(11), gop=12)


def build_pictures(movie: Path, folder: Path, *, worker: LocalWorker) -> None:
    """Have all pictures and the sound made, so that no room that is opened on the movie starts a process for them. folder: for a crit that nobody needs."""
    with open_crit(folder / "built.crit") as crit:
        take = add_movie(crit, worker.look_at(movie)[0])
    worker.build_frames(take, lambda: 0, Quiet())
    worker.sound_file(take)


@contextmanager
def served(
    movie: Path, folder: Path, *, worker: LocalWorker, first_frame: int = 1001, lines: str = LINES, **given: Any
) -> Iterator[Serving]:
    """A room on a crit in `folder`, new where there is none, served until the block ends. given: what goes with the movie, as for add_movie."""
    crit = folder / f"{movie.stem}.crit"
    with open_crit(crit) as opened:
        add_movie(opened, worker.look_at(movie, first_frame=first_frame)[0], lines=lines, **given)
    serving = prepare(crit, worker=worker)
    thread = serving.run_aside()
    try:
        yield serving
    finally:
        serving.stop()
        thread.join(timeout=20)


HELD_AT = (48, 144)
"""Pictures after which building waits: until the file `go` lies in the cache folder, and for ever."""


@dataclass(frozen=True)
class _Holding:
    behind: Progress
    go: Path

    def step(self, stage: str, done: float, total: float | None) -> None:
        self.behind.step(stage, done, total)
        while (done == HELD_AT[0] and not self.go.exists()) or done == HELD_AT[1]:
            sleep(STEP_S)
            self.behind.step(stage, done, total)


@dataclass(frozen=True)
class HeldPictures(LocalPictures):
    """Builds no more than it is let: no machine is too quick or too slow for what is asked of the order of its pictures."""

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        assert self.cache is not None
        super().build_frames(take, around, _Holding(progress, self.cache / "go"))


@dataclass(frozen=True)
class BusyWorker(LocalWorker):
    """Measures without end, until it is stopped, and builds pictures as HeldPictures does: what the room shows meanwhile is what is looked at."""

    def pictures(self) -> LocalPictures:
        return HeldPictures(self.cache)

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return None

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        for done in count(1):
            progress.step("looking at pictures", done, None)
            sleep(STEP_S)
        raise AssertionError("counting ended")


@dataclass(frozen=True)
class GatedWorker(KnownWorker):
    """Measures until the file `open` lies in the folder `gate`, and remembers nothing before."""

    gate: Path = Path()

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return measured() if (self.gate / "done").exists() else None

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        for turn in count():
            progress.step("looking at pictures", min(turn, 99), 100)
            if (self.gate / "open").exists():
                break
            sleep(0.05)
        (self.gate / "done").touch()
        return measured()
