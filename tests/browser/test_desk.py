"""The desk round the picture: how much of the window the picture has, and what it gives way to."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from tests.browser.room_page import PATIENCE_MS, go_to, open_room, press, settled, sheet_filled, wait_until
from tests.make.open_rooms import KnownWorker, served

from shotcrit.room.serve import Serving

LEAST = {  # of the window, for a picture of 16:9: sheet open, sheet folded, picture alone
    (1440, 900): (0.55, 0.75, 0.89),
    (1180, 720): (0.50, 0.66, 0.90),
    (1920, 1080): (0.55, 0.75, 0.99),
}
SHARE = """(() => {
  const box = document.querySelector('.stage').getBoundingClientRect(), canvas = document.querySelector('canvas.picture').getBoundingClientRect();
  const over = [...document.querySelectorAll('header, .sheet, .ledge > *')].filter((e) => {
    const r = e.getBoundingClientRect();
    return Math.min(r.right, box.right) - Math.max(r.left, box.left) > 1 && Math.min(r.bottom, box.bottom) - Math.max(r.top, box.top) > 1;
  });
  return { share: box.width * box.height / innerWidth / innerHeight, shape: box.width / box.height, canvas: canvas.width / box.width,
           inside: box.right <= innerWidth + 0.5 && box.bottom <= innerHeight + 0.5, over: over.map((e) => e.className),
           scrolls: document.documentElement.scrollHeight - innerHeight };
})()"""


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _seen(page: Page) -> dict[str, Any]:
    settled(page)
    return dict(page.evaluate(SHARE))


@pytest.mark.parametrize("size", list(LEAST), ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_picture_has_most_of_the_window(room: Serving, chromium: Browser, size: tuple[int, int]) -> None:
    with chromium.new_context(viewport={"width": size[0], "height": size[1]}) as context:
        page = context.new_page()
        open_room(page, room.address)
        sheet_filled(page)
        for keys, least in zip(((), ("Shift+t",), ("Shift+o",)), LEAST[size], strict=True):
            press(page, *keys)
            seen = _seen(page)
            assert seen["share"] >= least, (keys, seen)
            assert seen["shape"] == pytest.approx(16 / 9, rel=0.01)  # the canvas is the picture's own box
            assert seen["canvas"] == pytest.approx(1, abs=0.01)
            assert seen["inside"]
            assert seen["over"] == []
            assert seen["scrolls"] <= 0
        press(page, "Escape")
        page.get_by_role("banner").wait_for()


def test_tools_come_when_they_are_taken_up_and_never_lie_over_the_picture(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    pencils = page.get_by_role("group", name="draw", exact=True)
    assert pencils.count() == 0
    for keys, group in ((("1",), "draw"), (("Shift+m",), "which marks"), (("0", "Shift+v"), "see")):
        press(page, *keys)
        if group != "which marks":
            page.get_by_role("group", name=group, exact=True).wait_for()
        seen = _seen(page)
        assert seen["over"] == []
        assert seen["share"] >= 0.55
    assert pencils.count() == 0


WHOLE = """(() => {
  const cut = (e) => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1;
  const all = [...document.querySelectorAll('.ledge, .see, .glass, .reference, .cut, .faces, .lying.open, .form')];
  const low = [...document.querySelectorAll('.rails header, .see > *, .glass > *')].filter((e) => e.getBoundingClientRect().bottom > innerHeight + 1);
  const wrapped = [...document.querySelectorAll('.see, .glass')].filter((e) => e.offsetHeight > 1.8 * e.querySelector('button').offsetHeight);
  return [...all.filter(cut), ...low, ...wrapped].map((e) => e.className);
})()"""


@pytest.mark.parametrize("size", list(LEAST), ids=lambda size: f"{size[0]}x{size[1]}")
def test_rows_that_are_opened_and_an_open_note_are_whole(room: Serving, chromium: Browser, size: tuple[int, int]) -> None:
    with chromium.new_context(viewport={"width": size[0], "height": size[1]}) as context:
        page = context.new_page()
        open_room(page, room.address)
        page.get_by_role("group", name="run", exact=True).wait_for()
        for keys, least in ((("Shift+v", "_"), LEAST[size][0]), (("%",), 1 / 3), (("%", "Shift+v", "_", "Enter"), 1 / 3)):
            press(page, *keys)
            if keys[-1] == "Enter":
                page.get_by_role("group", name="words of the note").wait_for()
            seen = _seen(page)
            assert page.evaluate(WHOLE) == [], keys
            assert seen["share"] >= least, keys
            assert seen["over"] == []


def test_a_typed_frame_lets_go_of_what_was_chosen_and_says_where_a_note_lands(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    page.evaluate("window.goTo(1040)")
    press(page, "t", "ArrowDown", "ArrowDown", "e")
    page.get_by_text("a new one lands on 1040 to 1042").wait_for()
    page.evaluate("window.goTo(1100)")
    page.get_by_text("a new one lands on 1100").wait_for()
    press(page, "e")  # what was begun before may be ended here
    page.get_by_text("a new one lands on 1040 to 1100").wait_for()
    press(page, "Escape")
    page.get_by_text("a new one lands on 1100").wait_for()
    press(page, "ArrowDown")  # with nothing chosen it goes along
    page.get_by_text("a new one lands on 1101").wait_for()


def test_a_second_window_shows_what_this_one_shows(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    go_to(page, 1030)
    with page.expect_popup() as opened:
        press(page, "Shift+e")
    other = opened.value
    wait_until(other, "document.querySelector('canvas.picture')?.dataset.frame === '29'")  # it is told where we are before it has the movie
    go_to(page, 1050)
    wait_until(other, "document.querySelector('canvas.picture').dataset.frame === '49'")
    assert other.get_by_role("banner").count() == 0
    assert other.get_by_role("button").count() == 0
    other.close()


def test_the_dim_desk_is_dark_all_over_and_stays_so(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    press(page, "Shift+i")
    # Cards change their ground within a tenth of a second, so the state is awaited.
    wait_until(
        page,
        """(() => ['header', '.sheet', '.rails', '.ledge', '.card'].map((s) => document.querySelector(s)).filter(Boolean)
      .map((e) => getComputedStyle(e).backgroundColor.match(/\\d+/g).map(Number)).filter((c) => c.length < 4 && Math.max(...c) > 90).length)() === 0""",
    )
    page.reload(wait_until="commit")
    page.wait_for_selector("canvas.picture[data-frame]", timeout=PATIENCE_MS)
    assert page.evaluate("document.documentElement.classList.contains('dim')")
