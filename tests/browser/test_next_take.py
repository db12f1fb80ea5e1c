"""The next take in the room: what was asked lies ready, and the reviewer walks along it with one key each."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, expect
from tests.browser.room_page import keep_picture, open_room, press, saved, wait_until
from tests.make.next_take import LATER, LinedWorker, TwoTakes, second_take, two_takes
from tests.make.open_rooms import KnownWorker

PICTURES = Path("test-results/room")


@pytest.fixture(scope="module")
def take_two(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return second_take(tmp_path_factory.mktemp("take2"))


@pytest.fixture
def takes(lantern: Path, take_two: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[TwoTakes]:
    with two_takes(lantern, take_two, tmp_path, LinedWorker(cache=known_worker.cache)) as both:
        yield both


@pytest.fixture
def page(takes: TwoTakes, room_page: Page) -> Page:
    """Opened on the second take, both lined up."""
    open_room(room_page, takes.serving.address)
    room_page.get_by_role("article", name="asked:").first.wait_for()
    wait_until(room_page, "document.querySelector('.lining') === null")
    return room_page


def _frame(page: Page, index: int) -> None:
    """Wait until the picture shows a frame."""
    wait_until(page, f"document.querySelector('canvas.picture').dataset.frame === '{index}'")


def test_the_walk_asks_again_calls_done_and_lets_go_with_one_key_each(page: Page, takes: TwoTakes) -> None:
    expect(page.get_by_role("heading", name="Asked before, 3 to answer")).to_be_visible()
    assert [a.get_attribute("aria-label") for a in page.get_by_role("article", name="asked:").all()] == [
        "asked: keep, The little drop before she speaks.",
        "asked: must, She looks over his head.",
        "asked: polish, The hand settles too early.",
    ]
    press(page, ")")
    expect(page.get_by_role("heading", name="Asked before, 2 to answer")).to_be_visible()
    _frame(page, 77 + LATER)
    current = page.locator("article.chosen")
    expect(current).to_contain_text("asked on take 1")
    expect(current).to_contain_text("✓ done, Jonas lowered both, see 1082")
    press(page, "(")
    expect(page.get_by_role("heading", name="Asked before, 1 to answer")).to_be_visible()
    press(page, ">")
    expect(page.get_by_role("heading", name="Asked before, all answered")).to_be_visible()
    saved(page)
    praised, asked, dropped = (takes.notes[k] for k in (2, 0, 1))
    now = {note.id: note for note in takes.notes_now(takes.first)}
    assert [now[n.id].settled.how for n in (praised, asked, dropped)] == ["done", "again", "dropped"]  # type: ignore[union-attr]
    assert [now[n.id].closed for n in (praised, asked, dropped)] == [True, False, True]
    (again,) = takes.notes_now(takes.second)
    assert (again.first, again.last, again.what, len(again.drawings)) == (74 + LATER, 91 + LATER, asked.what, 1)


def test_undo_opens_a_note_again_and_so_does_its_own_button(page: Page, takes: TwoTakes) -> None:
    press(page, "ArrowRight", "(")
    expect(page.get_by_role("heading", name="Asked before, 2 to answer")).to_be_visible()
    press(page, "Control+z")
    expect(page.get_by_role("heading", name="Asked before, 3 to answer")).to_be_visible()
    saved(page)
    assert takes.notes_now(takes.second) == []
    page.get_by_role("article", name="asked: must").get_by_role("button", name="She looks over").click()
    press(page, ")")
    expect(page.get_by_role("heading", name="Asked before, 2 to answer")).to_be_visible()
    page.get_by_role("article", name="asked: must").get_by_role("button", name="She looks over").click()
    page.get_by_role("button", name="take it back").click()
    expect(page.get_by_role("heading", name="Asked before, 3 to answer")).to_be_visible()


def test_nothing_is_answered_unseen(page: Page, takes: TwoTakes) -> None:
    press(page, "@")
    expect(page.get_by_role("heading", name="Notes, in reading order")).to_be_visible()
    press(page, ")")
    expect(page.get_by_role("heading", name="Asked before, 3 to answer")).to_be_visible()
    saved(page)
    assert not any(note.settled for note in takes.notes_now(takes.first))


@pytest.mark.parametrize(("width", "height"), [(1180, 720), (1440, 900), (1920, 1080)])
def test_what_was_asked_is_seen_whole(page: Page, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})
    press(page, "ArrowRight")
    _frame(page, 77 + LATER)
    keep_picture(page, PICTURES / f"asked-{width}.png")
    card, pair = page.locator("article.chosen").bounding_box(), page.locator("article.chosen .pair").bounding_box()
    assert card is not None
    assert pair is not None
    assert pair["y"] + pair["height"] <= card["y"] + card["height"] + 1
    for name in ("done", "not yet", "changed my mind"):
        box = page.locator("article.chosen").get_by_role("button", name=name).bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= min(height, card["y"] + card["height"]) + 1
    edges = "(b) => ['borderTopColor', 'borderBottomColor'].map((edge) => getComputedStyle(b)[edge])"
    top, bottom = page.locator("article.chosen [data-act=asked-done]").evaluate(edges)
    assert top == bottom, "its frame is closed"


def _light(page: Page) -> float:
    """The mean of what is on the screen in the picture's place, 0 to 255."""
    wait_until(page, "[...document.querySelectorAll('.takes img')].every((image) => image.complete && image.naturalWidth > 0)")
    page.evaluate("window.settled()")
    shot = Image.open(io.BytesIO(page.locator(".stage").screenshot())).convert("L")
    middle = np.asarray(shot, dtype=np.float64)[shot.height // 4 : -shot.height // 4]
    return float(middle.mean())


def test_both_takes_are_held_against_each_other_on_frames_that_belong_together(page: Page) -> None:
    press(page, "@")
    page.evaluate("window.goTo(1061)")
    _frame(page, 60)
    plain = _light(page)
    older = page.locator(".takes .older img")
    press(page, "]")
    expect(older).to_have_attribute("data-frame", str(60 - LATER))
    keep_picture(page, PICTURES / "both-takes.png")
    press(page, "ArrowDown")
    expect(older).to_have_attribute("data-frame", str(61 - LATER))
    press(page, "}")
    expect(page.locator(".tag")).to_have_text(f"what differs from take 1, frame {1001 + 61 - LATER}")
    assert _light(page) < 0.1 * plain, "like meets like, so nearly nothing differs"
    press(page, "[")
    expect(page.locator(".tag")).to_have_text(f"take 1, frame {1001 + 61 - LATER}")
    assert abs(_light(page) - plain) < 0.1 * plain
    press(page, "Escape")
    expect(older).to_have_count(0)
