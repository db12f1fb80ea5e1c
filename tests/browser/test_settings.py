"""Settings in the room: limits, the ceiling of listening closer, reaction time, the first frame."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor
from pathlib import Path

import pytest
from playwright.sync_api import Page
from tests.browser.room_page import PATIENCE_MS, go_to, keep_picture, open_room, press, put_away, saved, wait_until
from tests.make.open_rooms import KnownWorker, served

from shotcrit.readings.cast import Cast, Character, Placed
from shotcrit.room.serve import Serving

SHOTS = Path(__file__).parents[2] / "test-results" / "room"
REACTIONS_MS = 200
"""What the eager hand of the calibration test waits after the disc came; timers of a busy computer come later, never earlier."""


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _set(page: Page, key: str, value: str) -> None:
    field = page.locator(f"[data-limit='{key}']")
    field.fill(value)
    field.press("Tab")
    saved(page)


def test_a_limit_is_changed_marked_used_at_once_undone_and_put_back(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    card = room_page.get_by_role("article", name="finding: contact")
    card.wait_for()
    press(room_page, ",")
    room_page.get_by_label("find a limit").fill("slide")
    _set(room_page, "contact.slide_px", "500")
    room_page.get_by_text("your own, instead of 1.").wait_for()
    card.wait_for(state="detached")
    put_away(room_page)
    press(room_page, "Control+z")
    card.wait_for()
    assert room.room.settings.now().limits == {}
    press(room_page, "Control+Shift+z")
    card.wait_for(state="detached")
    press(room_page, ",")
    room_page.get_by_role("button", name="put slide px back to 1").click()
    card.wait_for()
    room_page.get_by_text("Holds and dead frames").click()
    _set(room_page, "hold.ends", "4")
    _set(room_page, "hold.inside", "5")
    room_page.get_by_text("(2 are your own)").wait_for()
    room_page.get_by_role("button", name="all as they came").click()
    wait_until(room_page, "!document.querySelector('dialog').textContent.includes('your own, instead')")
    assert room.room.settings.now().limits == {}


def test_the_first_frame_counts_everywhere(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    press(room_page, ",")
    room_page.get_by_label("Its first frame is number").fill("1")
    press(room_page, "Tab")
    saved(room_page)
    put_away(room_page)
    wait_until(room_page, "document.querySelector('[data-shown]').dataset.shown === '1'")
    room_page.get_by_text("frames 1 to 264").wait_for()
    go_to(room_page, 100, first_frame=1)


def test_only_chosen_frames_count_and_the_rest_lies_under_thin_paper(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    card = room_page.get_by_role("article", name="finding: hold")
    card.wait_for()
    for frame, key in ((1009, "t"), (1240, "e")):
        go_to(room_page, frame)
        press(room_page, key)
    press(room_page, "Shift+G")
    again = room_page.get_by_role("button", name="judge all again")
    again.wait_for()
    card.wait_for(state="detached")
    room_page.get_by_role("button", name="1 assumed").click()
    room_page.get_by_text("what lies outside is shown and not judged").wait_for()
    keep_picture(room_page, SHOTS / "handles.png")
    room_page.get_by_role("button", name="1 assumed").click()
    again.click()
    card.wait_for()


def test_a_cast_counted_from_one_is_moved_with_one_press(lantern: Path, known_worker: KnownWorker, tmp_path: Path, room_page: Page) -> None:
    cast = Cast(characters=(Character(name="Ada", marks={"nose": (Placed(frame=2, x=0.5, y=0.4),)}),))
    with served(lantern, tmp_path, worker=known_worker, cast=cast) as serving:
        open_room(room_page, serving.address)
        room_page.get_by_text("seems to count from 1 and this take from 1001").wait_for()
        keep_picture(room_page, SHOTS / "cast-from-one.png")
        room_page.get_by_role("button", name="count the cast from 1001").click()
        room_page.get_by_text("seems to count from").wait_for(state="detached")
        assert serving.room.takes.listed()[0].cast.characters[0].marks["nose"][0].frame == 1002


def test_the_ceiling_of_listening_closer_is_heard_at_once(room: Serving, room_page: Page) -> None:
    """What is played for one frame is caught on its way to the ear: with a higher ceiling the same frame is louder, and never past -3 dB."""
    room_page.add_init_script(
        """const start = AudioBufferSourceNode.prototype.start;
        AudioBufferSourceNode.prototype.start = function (...how) {
          let peak = 0;
          for (let c = 0; c < this.buffer.numberOfChannels; c++) for (const x of this.buffer.getChannelData(c)) peak = Math.max(peak, Math.abs(x));
          window.heard = peak;
          return start.apply(this, how);
        };"""
    )
    open_room(room_page, room.address)
    wait_until(room_page, "document.querySelector('[data-act=closer]') !== null && document.querySelector('[data-act=run]') !== null")
    peaks: list[float] = []
    for ceiling in (None, -30, -9):
        if ceiling is not None:
            press(room_page, ",")
            room_page.get_by_role("slider").fill(str(ceiling))
            saved(room_page)
            put_away(room_page)
        if ceiling == -30:
            press(room_page, "h")
        room_page.evaluate("window.heard = null")
        for _ in range(PATIENCE_MS // 50):
            press(room_page, "ArrowDown", "ArrowUp")
            room_page.wait_for_timeout(50)
            if room_page.evaluate("window.heard !== null"):
                break
        peaks.append(float(room_page.evaluate("window.heard")))
    plain, low, high = peaks
    assert plain > 0
    assert low == pytest.approx(plain, rel=0.05) or low >= plain
    assert high >= low
    assert high <= max(plain, 10 ** (-3 / 20)) * 1.001


def test_reaction_time_is_measured_and_draws_markers_back(room: Serving, room_page: Page) -> None:
    open_room(room_page, room.address)
    press(room_page, ",")
    room_page.get_by_role("button", name="measure it").click()
    room_page.get_by_role("heading", name="Your reaction time").wait_for()
    press(room_page, "Space")
    room_page.evaluate(
        """(wait) => new Promise((done) => {
          const press = () => window.dispatchEvent(new KeyboardEvent('keydown', { code: 'Space', key: ' ', bubbles: true, cancelable: true }));
          let shown = false;
          const look = () => {
            const disc = document.querySelector('.disc');
            if (disc && !shown) setTimeout(press, wait);
            shown = Boolean(disc);
            if (document.querySelector('dialog .stamp')) done(null);
            else requestAnimationFrame(look);
          };
          look();
        })""",
        REACTIONS_MS,
    )
    room_page.get_by_text("You react in").wait_for()
    measured = room.room.settings.now().reaction_ms
    assert REACTIONS_MS - 40 <= measured < 1000
    said = f"{floor(measured + 0.5)} ms"  # as the page rounds: halves go up
    assert said in room_page.locator("dialog").inner_text()
    room_page.get_by_role("button", name="good").click()
    press(room_page, "Shift+l")
    room_page.get_by_text(f"your reaction time, {said}").wait_for()
