"""Care for people in the room: leaving a finding with a ready reason, cautions for eyes and ears, a rest for the wrist, what and why apart."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect
from tests.browser.room_page import draw, open_room, press, saved, sheet_filled
from tests.make.open_rooms import KnownWorker, served

from shotcrit.crit.records import Decision
from shotcrit.room.serve import Serving


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _reasons(room: Serving) -> list[str]:
    with room.room.crit.view() as view:
        return [d.reason for d in view.all(Decision) if d.verdict == "dismissed"]


def test_a_finding_is_left_with_one_key_and_its_reason_is_kept(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    sheet_filled(room_page)
    press(room_page, "#")
    room_page.get_by_text("Choose a finding first").wait_for()
    press(room_page, "f", "#")
    room_page.get_by_role("button", name="1 left alone").wait_for()
    press(room_page, "f", "!")
    room_page.get_by_role("button", name="2 left alone").wait_for()
    saved(room_page)
    assert sorted(_reasons(room)) == ["meant", "wrong"]
    press(room_page, "Control+z")
    room_page.get_by_role("button", name="1 left alone").wait_for()


def test_ready_reasons_lie_in_the_card_too(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    sheet_filled(room_page)
    card = room_page.get_by_role("article", name="finding: contact")
    card.get_by_role("button", name="leave it").click()
    reasons = card.get_by_role("group", name="leave it, because it is").get_by_role("button")
    expect(reasons).to_have_count(3)
    reasons.filter(has_text="too small").click()
    room_page.get_by_role("button", name="1 left alone").wait_for()
    saved(room_page)
    assert _reasons(room) == ["too small"]


def test_flashing_pictures_are_told_before_the_first_look(room: Serving, room_page: Page) -> None:
    says = "The picture flashes 5 times within one second."

    def with_flash(route: Route) -> None:
        answer = route.fetch()
        tray = answer.json()
        tray["findings"].append(
            {**tray["findings"][0], "key": "flash-1", "check": "flash", "kind": "general", "title": "flash, general", "says": says}
        )
        route.fulfill(response=answer, body=json.dumps(tray))

    room_page.route("**/api/takes/*/findings", with_flash)
    open_room(room_page, room.address)
    sheet_filled(room_page)
    press(room_page, "Shift+l")
    expect(room_page.get_by_role("alert")).to_contain_text(says)


def test_no_caution_stands_where_nothing_flashes(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    sheet_filled(room_page)
    press(room_page, "Shift+l")
    room_page.get_by_role("button", name="lights out").wait_for()
    assert room_page.get_by_role("alert").count() == 0


def test_the_button_that_lifts_quiet_sound_cautions(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    button = room_page.locator("[data-act=closer]")
    assert "Turn your volume down" in (button.get_attribute("title") or "")
    press(room_page, "h")
    room_page.get_by_text("mind your volume").wait_for()
    press(room_page, "h")
    room_page.get_by_text("mind your volume").wait_for(state="detached")


def test_a_long_time_with_the_pencil_asks_for_a_rest_and_can_be_silenced_for_good(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    # Nearly three minutes pass between strokes, as if the hand had drawn all the while: none longer than the pause that counts as a rest.
    room_page.evaluate("() => { const real = Date.now.bind(Date); window.later = 0; Date.now = () => real() + window.later; }")
    press(room_page, "1")
    for k in range(9):
        draw(room_page, (0.2 + k / 20, 0.3), (0.25 + k / 20, 0.5))
        saved(room_page)
        room_page.evaluate("() => { window.later += 170_000; }")
    room_page.get_by_text("let your wrist rest").wait_for()
    room_page.get_by_role("button", name="never say this").click()
    room_page.get_by_text("let your wrist rest").wait_for(state="detached")
    saved(room_page)
    assert room_page.evaluate("fetch('api/crit').then((r) => r.json()).then((c) => c.settings.room.rest_hint)") is False


def test_what_and_why_stand_apart_in_what_goes_out(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    press(room_page, "Enter")
    room_page.wait_for_selector("article.open textarea:focus")
    room_page.keyboard.type("The handle slips.")
    press(room_page, "Tab")
    room_page.keyboard.type("The cut hides nothing.")
    press(room_page, "Escape")
    saved(room_page)
    press(room_page, "Escape", "Shift+d")
    card = room_page.locator("li.card").filter(has_text="The handle slips.")
    expect(card.locator("p").filter(has_text="The handle slips.")).to_have_text("The handle slips.")
    expect(card.locator("p").filter(has_text="The cut hides nothing.")).to_have_text("Why The cut hides nothing.")
