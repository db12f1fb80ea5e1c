"""Every state of the room, empty and full, small and large: kept as pictures, checked for accessibility faults and for things that stick out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from tests.browser.room_page import (
    PATIENCE_MS,
    ROW_PX,
    draw,
    keep_picture,
    on_frame,
    open_room,
    press,
    put_away,
    saved,
    settled,
    sheet_filled,
    wait_until,
)
from tests.make.open_rooms import KnownWorker, served

from shotcrit.room.opening import open_crit
from shotcrit.room.serve import Serving, prepare

ROOT = Path(__file__).parents[2]
SHOTS = ROOT / "test-results" / "room"
AXE = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"
GRAVE = {"serious", "critical"}


@pytest.fixture(scope="module")
def full(lantern: Path, known_worker: KnownWorker, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    with served(lantern, tmp_path_factory.mktemp("full"), worker=known_worker) as serving:
        yield serving


def _fill(page: Page) -> None:
    """Two notes, one with a drawing; an eye line chosen."""
    page.evaluate("window.goTo(1082)")
    press(page, "t", "ArrowDown", "ArrowDown", "e", "2")
    draw(page, (0.30, 0.30), (0.36, 0.22), (0.46, 0.22), (0.52, 0.34))
    saved(page)
    press(page, "6", "9")
    draw(page, (0.42, 0.48), (0.72, 0.62))
    saved(page)
    press(page, "Enter")
    page.wait_for_selector("article.open textarea:focus")
    page.keyboard.type("She looks over his head.")
    page.keyboard.press("Tab")
    page.keyboard.type("He is sitting; we lose whom she speaks to.")
    page.locator("article.open input[value=must]").check()
    press(page, "Escape", "Escape", "Escape")
    saved(page)
    press(page, "p")
    page.wait_for_selector("article.open textarea:focus")
    page.keyboard.type("The little drop before the word sells the line.")
    press(page, "Escape", "0")
    saved(page)


def _faults(page: Page) -> list[str]:
    """Serious and critical faults that axe finds, each with the first element that has it."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] }).then((r) => r.violations)")
    return [f"{v['id']}: {v['nodes'][0]['html'][:160]}" for v in found if v["impact"] in GRAVE]


def _sticks_out(page: Page) -> int:
    """Pixels by which the page is wider or higher than its window."""
    return int(page.evaluate("Math.max(document.body.scrollWidth - innerWidth, document.documentElement.scrollHeight - innerHeight)"))


def _keep(page: Page, name: str) -> None:
    keep_picture(page, SHOTS / f"{name}.png")
    assert _faults(page) == [], name
    assert _sticks_out(page) <= 0, name


STATES: dict[str, tuple[tuple[int, int], Callable[[Page], None]]] = {
    "02-study-finding": ((1440, 900), lambda p: press(p, "f", "f", "f")),
    "03-study-note-open": ((1440, 900), lambda p: press(p, "n")),
    "04-study-whole-shot-marks": ((1440, 900), lambda p: press(p, "Shift+a", "w", "w", "m", "y", "g")),
    "05-study-small": ((1180, 720), lambda p: press(p, "n", "n")),
    "06-study-4k": ((3840, 2160), lambda p: press(p, "f")),
    "07-study-at-200-percent": ((720, 450), lambda p: press(p, "f")),
    "08-first-look": ((1440, 900), lambda p: press(p, "Shift+l")),
    "09-send": ((1440, 900), lambda p: press(p, "Shift+d")),
    "10-all-keys": ((1440, 900), lambda p: press(p, "?")),
    "11-lines": ((1180, 720), lambda p: press(p, "i")),
    "15-settings": ((1440, 900), lambda p: press(p, ",")),
    "16-mending": ((1180, 720), lambda p: press(p, "w", ".")),
    "12-columns": ((1180, 720), lambda p: press(p, "c")),
}


def test_states_are_sound_and_kept_as_pictures(full: Serving, room_page: Page) -> None:
    open_room(room_page, full.address)
    _keep(room_page, "01-study-fresh")
    _fill(room_page)
    for name, (size, reach) in STATES.items():
        room_page.set_viewport_size({"width": size[0], "height": size[1]})
        open_room(room_page, full.address)
        sheet_filled(room_page)
        reach(room_page)
        _keep(room_page, name)


def test_the_picture_gets_half_the_width(full: Serving, room_page: Page) -> None:
    for width, height in ((1440, 900), (1180, 720), (3840, 2160)):
        room_page.set_viewport_size({"width": width, "height": height})
        open_room(room_page, full.address)
        sheet_filled(room_page)
        settled(room_page)
        box = room_page.locator("canvas.picture").bounding_box()
        assert box is not None
        assert box["width"] >= width / 2
        # The sheet is drawn larger on a larger screen, and a press means the row that is seen there.
        larger = max(1.0, height / 1080)
        paper = room_page.locator(".paper").bounding_box()
        assert paper is not None
        room_page.mouse.click(paper["x"] + 12 * larger, paper["y"] + 9.5 * ROW_PX * larger)
        on_frame(room_page, 9)
        assert room_page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") == pytest.approx(14 * larger)


def test_an_empty_crit_says_what_to_do(room_page: Page, tmp_path: Path, known_worker: KnownWorker) -> None:
    open_crit(tmp_path / "empty.crit").close()
    serving = prepare(tmp_path / "empty.crit", worker=known_worker)
    thread = serving.run_aside()
    try:
        room_page.goto(serving.address, wait_until="commit")
        room_page.get_by_role("heading", name="There is no shot in this crit yet.").wait_for()
        _keep(room_page, "13-empty")
    finally:
        serving.stop()
        thread.join(timeout=20)


def test_a_moved_movie_is_said_and_notes_stay(lantern: Path, room_page: Page, tmp_path: Path, known_worker: KnownWorker) -> None:
    film = tmp_path / "lantern_041.mp4"
    film.write_bytes(lantern.read_bytes())
    with served(film, tmp_path, worker=known_worker) as serving:
        film.rename(tmp_path / "elsewhere.mp4")
        room_page.goto(serving.address, wait_until="commit")
        room_page.get_by_role("heading", name="The movie is not where it was.").wait_for()
        _keep(room_page, "14-movie-moved")
        room_page.get_by_label("The movie's new place").fill(str(tmp_path / "elsewhere.mp4"))
        room_page.get_by_role("button", name="look there").click()
        room_page.wait_for_selector('canvas.picture[data-frame="0"]', timeout=PATIENCE_MS)


def test_everything_can_be_reached_by_keys_and_is_said(full: Serving, room_page: Page) -> None:
    open_room(room_page, full.address)
    sheet_filled(room_page)
    press(room_page, "w")
    wait_until(room_page, "document.querySelector('[data-live]').textContent.includes('word')")
    said = room_page.locator("[data-live]").inner_text()
    assert "word But, said by Oona" in said
    assert said.startswith("frame 10")
    press(room_page, "?")
    room_page.locator("dialog[open]").wait_for()
    shown = {t.strip() for t in room_page.locator("dialog dd strong").all_inner_texts()}
    press(room_page, "Escape")
    buttons = {b.strip() for b in room_page.locator("[data-act]").evaluate_all("bs => bs.map(b => b.title)")}
    assert all(buttons)
    assert len(shown) > 50


def test_a_key_can_be_changed_and_refuses_to_mean_two_things(
    lantern: Path, room_page: Page, tmp_path: Path, known_worker: KnownWorker, chromium: Browser
) -> None:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        open_room(room_page, serving.address)
        sheet_filled(room_page)
        press(room_page, "?")
        room_page.get_by_label("key of next word").click()
        press(room_page, "r")
        room_page.get_by_text("is already the key of “run”").wait_for()
        room_page.get_by_label("key of next word").click()
        press(room_page, "~")
        room_page.get_by_text("next word is now on ~").wait_for()
        put_away(room_page)
        saved(room_page)
        press(room_page, "~")
        wait_until(room_page, "window.seen().drawn > 0")
