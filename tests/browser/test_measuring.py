"""While a new movie is still being measured: its pictures are there, those around the playhead first."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page
from tests.browser.room_page import open_room, wait_until
from tests.make.open_rooms import BusyWorker, numbered_film, served

from shotcrit.room.serve import Serving

FRAMES = 480
FIRST = 1001
FAR = 420
"""A frame that building in order would reach late."""
BETWEEN = range(100, 300)
"""Frames that building in order would reach before ENOUGH are there, and that lie far from both places where the playhead was."""
ENOUGH = 120
STATE = """async () => {
  const take = (await (await fetch('api/crit')).json()).takes[0].id;
  const [jobs, table] = await Promise.all([fetch('api/jobs'), fetch(`api/takes/${take}/frames`)].map(async (a) => (await a).json()));
  return { measuring: jobs.some((j) => j.kind === 'measure' && j.state === 'running'), ready: table.ready };
}"""


def _built(state: dict[str, Any]) -> set[int]:
    return {i for run in state["ready"] for i in range(run["first"], run["last"] + 1)}


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return numbered_film(tmp_path_factory.mktemp("film"), frames=FRAMES, size=(960, 540))


@pytest.fixture
def new_movie(film: Path, tmp_path: Path) -> Iterator[Serving]:
    """A movie that was never opened, in a room with an empty cache."""
    with served(film, tmp_path, worker=BusyWorker(cache=tmp_path / "cache"), first_frame=FIRST) as serving:
        yield serving


def test_pictures_appear_around_the_playhead_while_a_new_movie_is_measured(new_movie: Serving, room_page: Page, tmp_path: Path) -> None:
    open_room(room_page, new_movie.address)
    room_page.evaluate(f"window.goTo({FAR + FIRST})")
    wait_until(room_page, f"window.seen().pixels === {FAR}")
    state = room_page.evaluate(STATE)
    assert state["measuring"]
    assert FAR in _built(state), "it is made before those in between"
    assert not _built(state) & set(BETWEEN)
    (tmp_path / "cache" / "go").touch()
    wait_until(room_page, f"({STATE})().then((s) => s.ready.reduce((n, run) => n + run.last + 1 - run.first, 0) >= {ENOUGH})")
    assert not _built(room_page.evaluate(STATE)) & set(BETWEEN), "frames far from the playhead were built first"
    for step in (1, 2, 3):
        room_page.evaluate("window.press('ArrowDown')")
        wait_until(room_page, f"window.seen().pixels === {FAR + step}")
    room_page.evaluate("window.goTo(1051)")
    wait_until(room_page, "window.seen().pixels === 50")
    assert room_page.evaluate(STATE)["measuring"]


def test_measuring_can_be_stopped_and_the_pictures_stay(new_movie: Serving, room_page: Page) -> None:
    open_room(room_page, new_movie.address)
    wait_until(room_page, "document.querySelector('.work button') !== null")
    room_page.click(".work button")
    wait_until(room_page, "document.querySelector('.work progress') === null")
    room_page.evaluate(f"window.goTo({FAR + FIRST})")
    wait_until(room_page, f"window.seen().pixels === {FAR}")
