"""What is drawn is the frame that the sheet says: for every frame, in any order, and while the shot runs."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page
from tests.browser.room_page import open_room, press, wait_until
from tests.make.open_rooms import KnownWorker, numbered_film, served

from shotcrit.room.serve import Serving

FRAMES = 1440
FIRST = 1001

RUN_THROUGH = """async (last) => {
  const wrong = [];
  for (let i = 1; i <= last; i++) {
    window.press('ArrowDown');
    await window.until(i);
    const s = window.seen();
    if (s.pixels !== i || s.drawn !== i || s.sheet !== i || s.readout !== i + 1001) wrong.push([i, s]);
  }
  return wrong;
}"""
JUMP = """async (frames) => {
  const wrong = [];
  for (const i of frames) {
    window.goTo(i + 1001);
    await window.until(i);
    const s = window.seen();
    if (s.pixels !== i || s.drawn !== i || s.sheet !== i || s.readout !== i + 1001) wrong.push([i, s]);
  }
  return wrong;
}"""
WATCH = """([seconds, least]) => new Promise((done) => {
  const frames = new Set(), wrong = [], begun = performance.now();
  // So long at least, and until so many frames were seen: how many that is within a second is the machine's business.
  const goesOn = () => performance.now() < begun + seconds * 1000 || (frames.size < least && performance.now() < begun + 60000);
  const look = () => {
    const s = window.seen();
    frames.add(s.pixels);
    if (s.pixels !== s.drawn || s.sheet !== s.drawn || s.readout !== s.drawn + 1001) wrong.push(s);
    if (goesOn()) requestAnimationFrame(() => setTimeout(look, 4));
    else done({ wrong, frames: [...frames] });
  };
  look();
})"""


@pytest.fixture(scope="module")
def minute(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    folder = tmp_path_factory.mktemp("minute")
    with served(numbered_film(folder, frames=FRAMES), folder, worker=KnownWorker(cache=folder / "cache"), first_frame=FIRST) as serving:
        yield serving


def test_no_wrong_frame_among_1440_in_order_and_200_at_random(minute: Serving, room_page: Page) -> None:
    open_room(room_page, minute.address)
    room_page.set_viewport_size({"width": 1180, "height": 720})
    room_page.set_default_timeout(240_000)
    assert room_page.evaluate(RUN_THROUGH, FRAMES - 1) == []
    order = random.Random(3).sample(range(FRAMES), 200)
    assert room_page.evaluate(JUMP, order) == []


@pytest.mark.parametrize(
    "keys", [("r",), ("s", "s", "r"), ("k", "q", "q", "r"), ("End", "Shift+r"), ("o", "PageDown", "t", "PageDown", "e", "r")]
)
def test_no_wrong_frame_while_it_runs(minute: Serving, room_page: Page, keys: tuple[str, ...]) -> None:
    open_room(room_page, minute.address)
    press(room_page, *keys)
    found = room_page.evaluate(WATCH, [2.5, 6])
    assert found["wrong"] == []
    assert len(found["frames"]) > 5  # it did run


def test_a_loop_stays_within_the_chosen_frames(minute: Serving, room_page: Page) -> None:
    open_room(room_page, minute.address)
    press(room_page, "PageDown", "t", "ArrowDown", "ArrowDown", "ArrowDown", "e", "o", "r")
    wait_until(room_page, "window.seen().drawn >= 24 && window.seen().drawn <= 27")
    found = room_page.evaluate(WATCH, [1.5, 4])
    assert set(found["frames"]) == {24, 25, 26, 27}


def test_the_run_ends_on_the_last_frame(minute: Serving, room_page: Page) -> None:
    open_room(room_page, minute.address)
    press(room_page, "End", "PageUp", "r")
    wait_until(room_page, "document.querySelector('[data-act=run]').getAttribute('aria-pressed') === 'false'")
    wait_until(room_page, f"window.seen().pixels === {FRAMES - 1}")


def test_zoom_and_pan_keep_the_frame_and_come_back(minute: Serving, room_page: Page, tmp_path: Path) -> None:
    open_room(room_page, minute.address)
    press(room_page, "PageDown")
    room_page.evaluate("window.until(24)")
    press(room_page, "z", "z", "ArrowDown")
    room_page.evaluate("window.until(25)")
    assert room_page.evaluate("window.seen().pixels") != 25  # zoomed: the stamp is no longer whole in the window
    press(room_page, "a")
    wait_until(room_page, "window.seen().pixels === 25")
