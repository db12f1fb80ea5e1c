"""Lines in the room: typed, aligned on the spot, mended by pulling an edge, aligned again, taken out as a TextGrid and read back."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page
from tests.browser.room_page import PATIENCE_MS, open_room, press, pull_edge, saved
from tests.make import films
from tests.make.open_rooms import served
from tests.make.voices import say

from shotcrit.crit.records import Correction
from shotcrit.readings.sound.textgrid import parse_textgrid
from shotcrit.room.local_worker import LocalWorker
from shotcrit.room.serve import Serving

SPOKEN = "The fog is thick enough to chew, she said."
WORDS = ["the", "fog", "is", "thick", "enough", "to", "chew", "she", "said"]
VOICE_HZ = 16_000


@pytest.fixture
def spoken(tmp_path: Path) -> Iterator[Serving]:
    """A room in which nothing is written down beforehand: a voice speaks, and nobody said what."""
    speech = say(SPOKEN)
    frames = math.ceil(len(speech.samples) / VOICE_HZ * 24)
    sound = {"sound": speech.samples[:, None], "sound_rate": VOICE_HZ}
    film = films.make_film(tmp_path / "fog.mp4", films.numbered(frames, size=(64, 36)), gop=12, **sound)
    with served(film, tmp_path, worker=LocalWorker(cache=tmp_path / "cache"), lines="") as serving:
        yield serving


def _sheet(serving: Serving) -> Any:
    return serving.room.sheets.sheet(serving.room.takes.listed()[0].id)


def _align(page: Page, text: str, count: int) -> None:
    press(page, "i")
    page.get_by_label("One speech a line").fill(text)
    page.get_by_role("button", name="lay them on the sheet").click()
    page.get_by_text(f"Aligned. The sheet shows {count} words.").wait_for(timeout=PATIENCE_MS)


def test_lines_are_aligned_on_the_spot_mended_by_hand_and_taken_out(spoken: Serving, room_page: Page, tmp_path: Path) -> None:
    page = room_page
    open_room(page, spoken.address)
    _align(page, f"Oona: {SPOKEN}", len(WORDS))
    words = _sheet(spoken).words
    assert [w.text.strip(",.").lower() for w in words] == WORDS
    assert {w.who for w in words} == {"Oona"}
    page.get_by_role("button", name="to the sheet").click()

    edge = words[1].end_s * 24
    pull_edge(page, "words", edge, edge + 1)
    kept = _sheet(spoken).words[1]
    assert kept.by_hand
    assert kept.end_s == pytest.approx((edge + 1) / 24, abs=0.5 / 24)

    _align(page, f"Bram: {SPOKEN}", len(WORDS))
    again = _sheet(spoken).words
    assert (again[1].by_hand, again[1].end_s, again[1].who) == (kept.by_hand, kept.end_s, kept.who)
    assert {w.who for w in again if not w.by_hand} == {"Bram"}
    with spoken.room.crit.view() as view:
        assert len(list(view.all(Correction))) >= 1

    with page.expect_download() as waiting:
        page.get_by_role("link", name="save as a TextGrid").click()
    grid = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(grid)
    assert grid.name == "take-1.TextGrid"
    read = {w.text: (w.start_s, w.end_s) for w in parse_textgrid(grid.read_text(encoding="utf-8"), name=grid.name).spoken.words}
    assert read == {w.text: (pytest.approx(w.start_s, abs=1e-6), pytest.approx(w.end_s, abs=1e-6)) for w in again}
    saved(page)
