"""Mending by hand: edges dragged, words split, relabelled, added and deleted, by mouse and by keys."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.browser.room_page import ROW_PX, go_to, on_frame, open_room, press, pull_edge, saved, settled, sheet_filled, sheet_place, unfold
from tests.make.measured import CUTS, FRAMES
from tests.make.open_rooms import KnownWorker, served

from shotcrit.room.serve import Serving


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _sheet(serving: Serving) -> Any:
    return serving.room.sheets.sheet(serving.room.takes.listed()[0].id)


def test_a_words_edge_is_dragged_and_its_neighbour_and_phones_go_along(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    before = _sheet(room)
    word, following = before.words[0], before.words[1]
    edge = word.end_s * 24
    pull_edge(room_page, "words", edge, edge + 2)
    after = _sheet(room)
    assert after.words[0].end_s == pytest.approx((edge + 2) / 24, abs=0.5 / 24)
    assert after.words[0].by_hand is not None
    if following.start_s == word.end_s:
        assert after.words[1].start_s == after.words[0].end_s
    last_phone = max((p for p in before.phones if p.end_s == word.end_s), key=lambda p: p.start_s)
    moved = next(p for p in after.phones if p.start_s == last_phone.start_s)
    assert moved.end_s == after.words[0].end_s
    press(room_page, "Control+z")
    saved(room_page)
    assert [w.end_s for w in _sheet(room).words] == [w.end_s for w in before.words]


def test_a_cut_is_moved_by_its_number(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    sheet_filled(room_page)
    go_to(room_page, 1097)
    press(room_page, ".")
    form = room_page.get_by_role("form", name="mend a cut")
    form.get_by_label("first frame of the new shot").fill("1099")
    form.get_by_role("button", name="keep").click()
    saved(room_page)
    assert [c.frame for c in _sheet(room).cuts] == [98, 168]


def test_words_are_added_split_relabelled_and_deleted_by_keys_alone(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    sheet_filled(room_page)
    count = len(_sheet(room).words)
    press(room_page, "Shift+ArrowDown", "Shift+ArrowDown", ".")
    room_page.get_by_role("form", name="add a word").wait_for()
    room_page.keyboard.type("Hush")
    press(room_page, "Enter")
    saved(room_page)
    words = _sheet(room).words
    assert len(words) == count + 1
    assert (words[0].text, words[0].first, words[0].last) == ("Hush", 0, 2)
    press(room_page, "Escape", ".")
    form = room_page.get_by_role("form", name="mend a word")
    assert form.get_by_label("to frame").input_value() == "1003"
    form.get_by_label("word", exact=True).last.fill("Hush now")
    press(room_page, "Enter")
    saved(room_page)
    assert _sheet(room).words[0].text == "Hush now"
    press(room_page, ".")
    room_page.get_by_role("button", name="split here").click()
    saved(room_page)
    halves = _sheet(room).words[:2]
    assert halves[0].end_s == halves[1].start_s
    press(room_page, ".")
    room_page.get_by_role("button", name="delete").click()
    saved(room_page)
    assert len(_sheet(room).words) == count + 1
    for _ in range(4):
        press(room_page, "Control+z")
        saved(room_page)
    assert len(_sheet(room).words) == count


@pytest.mark.parametrize(("kind", "label", "events"), [("phone", "NG", "phones"), ("breath", "smack", "breaths")])
def test_phones_and_breaths_are_added_and_taken_back_to_what_was_measured(
    room: Serving, room_page: Page, kind: str, label: str, events: str
) -> None:
    open_room(room_page, room.address)
    before = getattr(_sheet(room), events)
    sheet_filled(room_page)
    press(room_page, ".")
    room_page.get_by_role("radio", name=kind).check()
    field = room_page.locator("form [data-label]")
    if kind == "phone":
        field.fill(label.lower())
    else:
        field.select_option(label)
    room_page.get_by_role("button", name="add", exact=True).click()
    saved(room_page)
    added = next(e for e in getattr(_sheet(room), events) if e.by_hand)
    assert (added.first, added.last, getattr(added, "phone" if kind == "phone" else "kind")) == (0, 0, label)
    press(room_page, ".")
    room_page.get_by_role("radio", name=kind).check()
    room_page.get_by_role("button", name="as measured").click()
    saved(room_page)
    assert getattr(_sheet(room), events) == before


def test_a_double_press_on_an_empty_row_adds_there(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    count = len(_sheet(room).cuts)
    # Near the top, where the paper would be turned for a playhead that came by itself: it stays under the hand.
    room_page.mouse.dblclick(*sheet_place(room_page, "picture", 2.5))
    form = room_page.get_by_role("form", name="add a cut")
    expect(form.get_by_label("first frame of the new shot")).to_have_value("1003")
    form.get_by_role("button", name="never mind").click()
    on_frame(room_page, 2)
    room_page.mouse.dblclick(*sheet_place(room_page, "picture", 10.5))
    room_page.get_by_role("form", name="add a cut").get_by_role("button", name="add", exact=True).click()
    saved(room_page)
    assert [c.frame for c in _sheet(room).cuts][:1] == [10]
    assert len(_sheet(room).cuts) == count + 1


def test_a_slip_mends_what_it_was_opened_on_though_another_window_puts_a_word_before_it(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    before = _sheet(room).words
    room_page.mouse.dblclick(*sheet_place(room_page, "words", before[0].first + 1.5))
    form = room_page.get_by_role("form", name="mend a word")
    form.get_by_role("textbox", name="word").fill("Yet")
    hush = {"event": "word", "was": None, "now": {"text": "Hush", "who": None, "start_s": 0.0, "end_s": 0.1}, "replaces": None}
    room_page.evaluate(
        """([take, change]) => fetch(`api/takes/${take}/corrections`,
          { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ changes: [change] }) }).then((r) => r.status)""",
        [room.room.takes.listed()[0].id, hush],
    )
    room_page.locator(".line").get_by_role("button", name="Hush").wait_for()
    form.get_by_role("button", name="keep").click()
    saved(room_page)
    assert [w.text for w in _sheet(room).words[:3]] == ["Hush", "Yet", before[1].text]


def test_a_phones_edge_is_dragged_with_its_neighbour_and_with_its_word(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    before = _sheet(room)
    k = next(k for k, p in enumerate(before.phones) if p.end_s - p.start_s > 2 / 24 and before.phones[k + 1].start_s == p.end_s)
    edge = before.phones[k].end_s
    unfold(room_page, "phones")
    pull_edge(room_page, "phones", edge * 24, edge * 24 - 1)
    after = _sheet(room)
    assert after.phones[k].end_s == pytest.approx(edge - 1 / 24, abs=0.3 / 24)
    assert after.phones[k + 1].start_s == after.phones[k].end_s
    assert (after.phones[k].by_hand is None, after.phones[k + 1].by_hand is None) == (False, False)
    assert after.words == before.words
    press(room_page, "Control+z")
    saved(room_page)
    assert _sheet(room).phones == before.phones

    # The last phone of a word takes the word along, and the one that begins there.
    word = before.words[0]
    k = next(k for k, p in enumerate(before.phones) if p.end_s == word.end_s)
    pull_edge(room_page, "phones", word.end_s * 24, word.end_s * 24 + 0.8)
    after = _sheet(room)
    assert after.phones[k].end_s == pytest.approx(word.end_s + 0.8 / 24, abs=0.3 / 24)
    assert after.words[0].end_s == after.words[1].start_s == after.phones[k].end_s == after.phones[k + 1].start_s


def test_both_edges_of_a_breath_and_a_cut_are_dragged(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    breath = _sheet(room).breaths[0]
    unfold(room_page, "air")
    pull_edge(room_page, "air", breath.start_s * 24, breath.start_s * 24 + 3)
    late = _sheet(room).breaths[0]
    assert late.start_s == pytest.approx(breath.start_s + 3 / 24, abs=0.5 / 24)
    assert late.end_s == breath.end_s
    pull_edge(room_page, "air", breath.end_s * 24, breath.end_s * 24 - 2)
    short = _sheet(room).breaths[0]
    assert short.end_s == pytest.approx(breath.end_s - 2 / 24, abs=0.5 / 24)
    assert (short.start_s, short.by_hand) == (late.start_s, late.by_hand)

    unfold(room_page, "picture")  # it made room for the air
    press(room_page, "Shift+a")
    settled(room_page)
    paper = room_page.locator(".paper").bounding_box()
    assert paper is not None
    row = paper["height"] / FRAMES / ROW_PX  # of the whole shot's rows, in rows as they open
    pull_edge(room_page, "picture", CUTS[0] * row, (CUTS[0] + 12) * row)
    cuts = _sheet(room).cuts
    assert abs(cuts[0].frame - CUTS[0] - 12) <= 1
    assert (cuts[0].by_hand is not None, cuts[1].frame) == (True, CUTS[1])
    press(room_page, "Control+z")
    saved(room_page)
    assert [c.frame for c in _sheet(room).cuts] == list(CUTS)
