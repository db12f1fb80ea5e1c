"""What hands do: a pen's pressure, notes dragged, a drawing copied along a mark, the sheet by keys, measuring stopped and gone on with."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.browser.room_page import READ_STAMP, draw, open_room, picture_places, press, put_away, saved, settled, sheet_filled, wait_until
from tests.make.open_rooms import GatedWorker, KnownWorker, served

from shotcrit.crit.records import Drawing, Note
from shotcrit.room.serve import Serving


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _drawings(serving: Serving) -> list[Drawing]:
    with serving.room.crit.view() as view:
        return sorted(view.all(Drawing), key=lambda d: d.first)


def test_a_pens_pressure_is_kept_point_by_point(room: Serving, room_page: Page) -> None:
    """Pen events as the browser's own protocol gives them: a page cannot tell them from a tablet's (measured: force arrives exactly)."""
    open_room(room_page, room.address)
    press(room_page, "1")
    left, top, right, bottom = (edge for corner in picture_places(room_page, (0, 0), (1, 1)) for edge in corner)
    pen = room_page.context.new_cdp_session(room_page)
    forces = [0.25 + 0.04 * k for k in range(15)]
    for k, force in enumerate(forces):
        kind = "mousePressed" if k == 0 else "mouseMoved"
        at = {"x": left + (right - left) * (0.3 + 0.02 * k), "y": top + (bottom - top) * 0.4}
        pen.send("Input.dispatchMouseEvent", {"type": kind, **at, "button": "left", "buttons": 1, "pointerType": "pen", "force": force})
    pen.send("Input.dispatchMouseEvent", {"type": "mouseReleased", **at, "button": "left", "buttons": 0, "pointerType": "pen", "force": 0})
    wait_until(room_page, "document.body.textContent.includes('Drawn on 1001')")
    saved(room_page)
    (drawing,) = _drawings(room)
    pressures = [point[2] for point in drawing.strokes[0].points]
    assert len(pressures) > 5
    assert min(pressures) == pytest.approx(0.25, abs=0.03)
    assert max(pressures) == pytest.approx(forces[-1], abs=0.05)
    inner = pressures[:-1]  # the pen leaves the paper with none
    assert inner == sorted(inner)


def _write(page: Page, frame: int, words: str) -> None:
    page.evaluate(f"window.goTo({frame})")
    press(page, "Enter")
    page.wait_for_selector("article.open textarea:focus")
    page.keyboard.type(words)
    press(page, "Escape")
    saved(page)
    press(page, "Escape", "Escape")


def _order(serving: Serving) -> list[str]:
    with serving.room.crit.view() as view:
        return [n.what for n in sorted(view.all(Note), key=lambda n: n.place)]


def test_notes_are_put_in_order_by_dragging_and_by_keys(room: Serving, room_page: Page) -> None:
    # On this window the heads of three cards side by side are in sight at once: a hand can only be led to what it sees.
    room_page.set_viewport_size({"width": 1920, "height": 1080})
    open_room(room_page, room.address)
    for frame, words in ((1010, "one"), (1040, "two"), (1080, "three")):
        _write(room_page, frame, words)
    notes = room_page.locator("article[aria-label^=note]")
    settled(room_page)
    notes.nth(2).locator("button.head").drag_to(notes.nth(0).locator("button.head"))
    saved(room_page)
    assert _order(room) == ["three", "one", "two"]
    notes.nth(0).locator("button.head").focus()
    press(room_page, "Alt+ArrowDown")
    saved(room_page)
    assert _order(room) == ["one", "three", "two"]
    press(room_page, "Control+z", "Control+z")
    saved(room_page)
    assert _order(room) == ["one", "two", "three"]
    notes.nth(0).locator("button.head").focus()
    press(room_page, "Alt+ArrowRight")  # the cards lie side by side
    saved(room_page)
    assert _order(room) == ["two", "one", "three"]


def test_a_drawing_is_copied_along_a_marks_path(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    press(room_page, "1")
    draw(room_page, (0.3, 0.3), (0.4, 0.4), (0.5, 0.3))
    saved(room_page)
    press(room_page, "0", *["Shift+ArrowDown"] * 5)
    room_page.get_by_label("copy along a mark").select_option(label="Oona, chest")
    saved(room_page)
    found = _drawings(room)
    track = (
        next(a for a in room.room.measurements.measured(room.room.takes.listed()[0]).readings.acting if a.who == "Oona").marks["chest"].xy
    )  # type: ignore[union-attr]
    assert [d.first for d in found if d.first == d.last][-5:] == [1, 2, 3, 4, 5]
    start = found[0].strokes[0].points[0]
    for drawing in found:
        if drawing.first == 0:
            continue
        moved = drawing.strokes[0].points[0]
        assert moved[0] - start[0] == pytest.approx(float(track[drawing.first][0] - track[0][0]), abs=1e-4)
        assert moved[1] - start[1] == pytest.approx(float(track[drawing.first][1] - track[0][1]), abs=1e-4)


def test_a_drawing_is_held_over_and_thrown_away_with_no_pencil_in_hand(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    press(page, "1")
    draw(page, (0.3, 0.3), (0.4, 0.4), (0.5, 0.3))
    saved(page)
    page.reload(wait_until="commit")  # as on another day
    page.get_by_text("Drawn on 1001").wait_for()
    page.evaluate(READ_STAMP)
    assert page.get_by_role("group", name="draw", exact=True).count() == 0
    press(page, *["Shift+ArrowDown"] * 3)
    page.get_by_role("button", name="hold over 1001 to 1004").click()
    saved(page)
    assert [(d.first, d.last) for d in _drawings(room)] == [(0, 3)]
    page.get_by_role("button", name="delete drawing").click()
    page.get_by_text("Drawn on 1001").wait_for(state="detached")
    saved(page)
    assert _drawings(room) == []


def test_the_sheet_is_read_by_keys_and_says_accents_and_shakes(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    sheet_filled(room_page)
    grid = room_page.get_by_role("grid", name="the sheet, one row a frame")
    grid.focus()
    sheet = room.room.sheets.sheet(room.room.takes.listed()[0].id)
    accent = sheet.accents[0]
    room_page.evaluate(f"window.goTo({accent.frame + 1001})")
    wait_until(room_page, f"document.querySelector('[data-live]').textContent.includes('accent {accent.rank} of {len(sheet.accents)}')")
    shake = sheet.tremors[0]
    frame = round((shake.start_s + shake.end_s) / 2 * 24) + 1001
    room_page.evaluate(f"window.goTo({frame})")
    wait_until(room_page, f"document.querySelector('[data-live]').textContent.includes('the voice shakes in {shake.carrier}')")
    grid.focus()
    press(room_page, "ArrowDown")
    row = grid.get_by_role("row")
    wait_until(room_page, f"document.querySelector('[role=grid] [role=row]').getAttribute('aria-rowindex') === '{frame - 1000 + 1}'")
    assert row.get_by_role("gridcell", name="frame", exact=True).inner_text() == str(frame + 1)


def test_columns_are_hidden_ordered_and_brought_back(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    press(room_page, "c")
    room_page.get_by_role("checkbox", name="mouth").uncheck()
    room_page.get_by_role("button", name="notes further left").click()
    saved(room_page)
    put_away(room_page)
    wait_until(room_page, "document.querySelector('[aria-label=\"mouth, folded\"]') !== null")
    heads = room_page.locator(".heads button").evaluate_all("bs => bs.map((b) => b.getAttribute('aria-label').split(',')[0])")
    assert heads[-2:] == ["notes", "found"]
    room_page.get_by_role("button", name="mouth, folded").press("Enter")
    wait_until(room_page, "document.querySelector('[aria-label=\"mouth, open\"]') !== null")
    press(room_page, "Control+z")
    wait_until(room_page, "document.querySelector('[aria-label=\"mouth, folded\"]') !== null")


def test_measuring_is_stopped_and_gone_on_with(lantern: Path, room_page: Page, tmp_path: Path, known_worker: KnownWorker) -> None:
    gate = tmp_path / "gate"
    gate.mkdir()
    with served(lantern, tmp_path, worker=GatedWorker(cache=known_worker.cache, gate=gate)) as serving:
        open_room(room_page, serving.address)
        room_page.get_by_role("button", name="stop measuring").click()
        room_page.get_by_role("button", name="go on measuring").wait_for()
        assert room_page.get_by_role("article", name="finding: hold").count() == 0
        (gate / "open").touch()
        room_page.get_by_role("button", name="go on measuring").click()
        room_page.get_by_role("article", name="finding: hold").wait_for()
        expect(room_page.get_by_role("button", name="go on measuring")).to_have_count(0)
