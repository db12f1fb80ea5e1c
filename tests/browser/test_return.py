"""What a reload or a moved crit must not lose, seen from the page."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page
from tests.browser.room_page import PATIENCE_MS, open_room, press, sheet_filled
from tests.make.open_rooms import KnownWorker, served
from tests.make.rooms import until

from shotcrit.crit.records import Note
from shotcrit.room.serve import Serving, prepare


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _words(room: Serving) -> list[str]:
    with room.room.crit.view() as view:
        return [n.what for n in view.all(Note)]


def test_words_that_could_not_be_stored_survive_a_reload(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    page.evaluate("window.goTo(1063)")
    press(page, "e", "Enter")
    page.wait_for_selector("article.open textarea:focus")
    page.keyboard.type("She turns")
    until(lambda: _words(room) == ["She turns"])
    page.route("**/api/notes/**", lambda _held: None)
    with page.expect_request("**/api/notes/**"):
        page.keyboard.type(" away too early.")
    page.reload()
    page.unroute("**/api/notes/**")
    assert _words(room) == ["She turns"]
    page.get_by_role("article").filter(has_text="She turns").locator("button.head").click()
    until(lambda: _words(room) == ["She turns away too early."])


@contextmanager
def _kept_key(crit: Path, worker: KnownWorker, port: int = 0) -> Iterator[Serving]:
    """A room whose browsers come in again after it was closed and opened anew."""
    serving = prepare(crit, worker=worker, port=port, habits=crit.parent / "me" / "habits.json")
    thread = serving.run_aside()
    try:
        yield serving
    finally:
        serving.stop()
        thread.join(timeout=20)


def test_a_page_says_within_seconds_that_its_room_has_gone_and_when_it_is_back(
    room: Serving, known_worker: KnownWorker, tmp_path: Path, room_page: Page
) -> None:
    page, crit = room_page, tmp_path / "lantern_040.crit"
    with _kept_key(crit, known_worker) as first:
        open_room(page, first.address)
        page.locator("header .says", has_text="saved").wait_for()
    page.locator("header .says", has_text="The room does not answer").wait_for(timeout=PATIENCE_MS)
    press(page, "Shift+d")
    page.get_by_role("heading", name="Goes out as").wait_for()
    assert page.get_by_text("No way of sending").count() == 0
    with _kept_key(crit, known_worker, first.port):
        page.locator("header .says", has_text="The room does not answer").wait_for(state="detached", timeout=PATIENCE_MS)
        page.locator("aside").get_by_role("checkbox").first.wait_for()


def test_a_crit_that_is_renamed_is_told_in_the_page(room: Serving, room_page: Page, tmp_path: Path) -> None:
    page = room_page
    open_room(page, room.address)
    sheet_filled(page)  # the page listens for news once it has all that there is
    (tmp_path / "lantern_040.crit").rename(tmp_path / "lantern for bram.crit")
    page.get_by_text("what you do is saved there").wait_for()
