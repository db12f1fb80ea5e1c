"""A whole review in the room: first look, notes with drawings, a dismissed finding, sending, answers read back."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route
from tests.browser.room_page import PATIENCE_MS, draw, on_frame, open_room, press, saved, sheet_filled, sheet_place, wait_until
from tests.make.open_rooms import KnownWorker, served

from shotcrit.crit.records import Decision, Drawing, Marker, Note, Take
from shotcrit.room.notes.shapes import NewNote
from shotcrit.room.serve import Serving


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _write(page: Page, first: int, last: int, words: str, weight: str = "") -> None:
    """A note on shown frames first..last, by keys."""
    page.evaluate(f"window.goTo({first})")
    press(page, "t")
    page.evaluate(f"window.goTo({last})")
    press(page, "e", "Enter")
    page.wait_for_selector("article.open textarea:focus")
    page.keyboard.type(words)
    if weight:
        page.locator(f"article.open input[value={weight}]").check()
    press(page, "Escape")
    saved(page)


def test_a_whole_review(room: Serving, room_page: Page, chromium: Browser, tmp_path: Path) -> None:
    page = room_page
    open_room(page, room.address)
    _first_look(page)

    # Three notes, each with a drawing.
    page.evaluate("window.goTo(1082)")
    press(page, "t", "ArrowDown", "ArrowDown", "e", "2")
    draw(page, (0.3, 0.4), (0.45, 0.3), (0.6, 0.45))
    saved(page)
    press(page, "Enter")
    page.wait_for_selector("article.open textarea:focus")
    page.keyboard.type("She looks over his head.")
    page.keyboard.press("Tab")
    page.keyboard.type("He is sitting.")
    press(page, "Escape")
    saved(page)
    _write(page, 1063, 1072, "We hear her breathe in, and see nothing.", "must")
    press(page, "6")
    draw(page, (0.4, 0.4), (0.8, 0.5))
    saved(page)
    _write(page, 1040, 1050, "The little drop sells the line.", "keep")
    press(page, "1")
    draw(page, (0.2, 0.2), (0.3, 0.3), (0.4, 0.2))
    saved(page)
    press(page, "0")

    # One finding taken, one left alone with a reason.
    page.get_by_role("article", name="finding: hold").get_by_role("button", name="take it").click()
    page.wait_for_selector("article.open textarea:focus")
    saved(page)
    card = page.get_by_role("article", name="finding: contact")
    card.get_by_role("button", name="leave it").click()
    card.locator("input:focus").wait_for()
    page.keyboard.type("The mitten hides it.")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="1 left alone").wait_for()

    with room.room.crit.view() as view:
        notes = sorted(view.all(Note), key=lambda n: n.place)
        assert [(n.first + 1001, n.last + 1001, n.weight, len(n.drawings)) for n in notes] == [
            (1082, 1084, "polish", 1),
            (1063, 1072, "must", 1),
            (1040, 1050, "keep", 1),
            (1258, 1264, "must", 0),
        ]
        assert notes[0].why == "He is sitting."
        assert len(list(view.all(Drawing))) == 3
        assert [d.verdict for d in view.all(Decision)].count("dismissed") == 1
        assert len(list(view.all(Marker))) == 2
        assert all(m.frame < m.pressed for m in view.all(Marker))

    sent = _send(page, tmp_path)
    answers = _animator_answers(chromium, sent, tmp_path)
    page.set_input_files("input[type=file]", answers)
    page.get_by_text("✓ done").first.wait_for()
    with room.room.crit.view() as view:
        answered = [n.answer for n in view.all(Note) if n.answer and n.answer.done]
        assert len(answered) == 1
        assert answered[0].text == "Dropped both irises."
        assert next(iter(view.all(Take))).one_thing is not None


def test_what_is_sent_before_the_answer_to_it_is_read_can_be_downloaded(room: Serving, room_page: Page) -> None:
    def answer_late(route: Route) -> None:
        answer = route.fetch()
        room.room.jobs.join(answer.json()["id"])
        route.fulfill(response=answer)

    with room.room.crit.view() as view:
        (take,) = view.all(Take)
    room.room.notes.write(take.id, NewNote(first=20, last=24, what="She looks over his head."), "Mara")
    room_page.route("**/api/send", answer_late)
    open_room(room_page, room.address)
    press(room_page, "Shift+d")
    room_page.get_by_role("heading", name="For colleagues").wait_for()
    ticked = room_page.locator("aside input[type=checkbox]:checked")
    while ticked.count():
        ticked.first.uncheck()
    room_page.locator("aside label", has_text="the crit itself").get_by_role("checkbox").check()  # needs no process, so it is quick
    room_page.route("**/api/jobs", lambda route: route.abort("connectionrefused"))  # nothing but the news and the answer tells of it
    room_page.locator("aside button.main").click()
    room_page.get_by_role("link", name="download everything as one file").wait_for()


def _first_look(page: Page) -> None:
    press(page, "Shift+l")
    page.get_by_role("button", name="lights out").click()
    for frame in (20, 40):
        wait_until(page, f"Number(document.querySelector('main.dark canvas').dataset.frame) >= {frame}")
        assert page.get_by_role("button").count() == 0  # no readouts, nothing to press but the picture
        press(page, "Space")
    wait_until(page, "document.querySelector('main.dark [role=status]').textContent.startsWith('2')")
    press(page, "Escape")
    page.get_by_role("heading", name="2 moments bothered you.").wait_for()
    page.get_by_role("button", name="to the desk").click()
    page.get_by_text("it bothered you at").wait_for()
    wait_until(page, "document.querySelector('canvas.picture').dataset.frame !== ''")  # by itself, with no key pressed


def _send(page: Page, folder: Path) -> Path:
    press(page, "Escape", "Escape", "Shift+d")
    page.get_by_label("In a word, on the whole").fill("The thought comes across.")
    page.get_by_label("To", exact=True).fill("Ada")
    page.get_by_label("first of all").first.check()
    saved(page)
    page.locator("aside button.main").click()
    link = page.get_by_role("link", name="download everything as one file")
    link.wait_for(timeout=PATIENCE_MS)
    with page.expect_download() as waiting:
        link.click()
    data = Path(waiting.value.path()).read_bytes()
    with zipfile.ZipFile(io.BytesIO(data)) as box:
        box.extractall(folder / "sent")
        assert any(name.endswith(".pdf") for name in box.namelist())
        return folder / "sent" / next(name for name in box.namelist() if name.endswith(".html"))


def _animator_answers(chromium: Browser, sent: Path, folder: Path) -> Path:
    """What the animator does with the page: tick the first thing, say so, save."""
    context = chromium.new_context(accept_downloads=True)
    page = context.new_page()
    page.goto(sent.as_uri())
    first = page.locator("#finding-1")
    first.locator(".done").check()
    first.locator("textarea").fill("Dropped both irises.")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save answers").click()
    answers = folder / "answers.json"
    waiting.value.save_as(answers)
    context.close()
    return answers


def test_undo_reaches_back_and_redo_brings_it_again(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    _write(room_page, 1010, 1012, "Too even.")
    press(room_page, "1")
    draw(room_page, (0.3, 0.3), (0.5, 0.6))
    saved(room_page)
    room_page.get_by_text("Drawn on 1010 to 1012").wait_for()
    press(room_page, "Control+z")
    room_page.get_by_text("Drawn on 1010 to 1012").wait_for(state="detached")
    press(room_page, "Control+Shift+z")
    room_page.get_by_text("Drawn on 1010 to 1012").wait_for()
    for _ in range(6):
        press(room_page, "Control+z")
        saved(room_page)
    room_page.get_by_text("No note yet").wait_for()


def test_two_windows_see_each_other(room: Serving, room_page: Page, chromium: Browser) -> None:
    open_room(room_page, room.address)
    other = chromium.new_context().new_page()
    open_room(other, room.address)
    _write(other, 1010, 1012, "Seen from the other side.")
    room_page.get_by_text("Seen from the other side.").wait_for(timeout=PATIENCE_MS)
    other.context.close()


def test_a_word_is_pulled_relabelled_and_survives(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    sheet_filled(room_page)
    first = room.room.sheets.sheet(room.room.takes.listed()[0].id).words[0].first
    press(room_page, "w")
    on_frame(room_page, first)
    room_page.mouse.dblclick(*sheet_place(room_page, "words", first + 2.5))
    room_page.locator("form.card").get_by_role("textbox", name="word").fill("Butter")
    room_page.get_by_role("button", name="keep", exact=True).click()
    room_page.locator(".line").get_by_role("button", name="Butter").wait_for()
    press(room_page, "Control+z")
    room_page.locator(".line").get_by_role("button", name="Butter").wait_for(state="detached")


def test_quick_strokes_join_one_drawing_and_quick_undo_takes_all_back(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    press(room_page, "1")
    for k in range(4):
        draw(room_page, (0.2 + k / 10, 0.3), (0.25 + k / 10, 0.5))
    saved(room_page)
    with room.room.crit.view() as view:
        assert [len(d.strokes) for d in view.all(Drawing)] == [4]
    for _ in range(6):
        press(room_page, "Control+z")
    saved(room_page)
    room_page.get_by_text("There is nothing to take back.").wait_for()
    with room.room.crit.view() as view:
        assert list(view.all(Drawing)) == []
