"""One Chromium for all tests of the room."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.browser.room_page import PATIENCE_MS
from tests.make.installed import CHROMIUM, needed
from tests.make.open_rooms import KnownWorker, build_pictures, lantern_scene

ARGUMENTS = ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"]
expect.set_options(timeout=PATIENCE_MS)
SLOW = int(os.environ.get("SLOW", "1"))
"""How many times slower the page's processor is made: `SLOW=6 make test-browser` looks for tests that do not wait for what they rest on."""
NOT_MADE_YET = "503"
"""The answer to a request for a picture that is still being made; the page asks again."""


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    found = needed(*CHROMIUM)
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=found, args=ARGUMENTS)
        started.on("context", lambda context: context.set_default_timeout(PATIENCE_MS))
        yield started
        started.close()


def _expected(complaint: str) -> bool:
    """A picture that is still being made, and a room that a test closed under its page."""
    return NOT_MADE_YET in complaint or "ERR_CONNECTION_REFUSED" in complaint


@pytest.fixture
def room_page(chromium: Browser) -> Iterator[Page]:
    """A window of 1440x900 in which no error may happen."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    page = context.new_page()
    if SLOW > 1:
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOW})
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda m: complaints.append(f"{m.text} {m.location}") if m.type == "error" and not _expected(m.text) else None)
    yield page
    context.close()
    assert complaints == []


@pytest.fixture(scope="session")
def lantern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The film that make/measured.py speaks of."""
    return lantern_scene(tmp_path_factory.mktemp("lantern"))


@pytest.fixture(scope="session")
def known_worker(lantern: Path, tmp_path_factory: pytest.TempPathFactory) -> KnownWorker:
    """A worker that has the film's pictures, and keeps them for all tests."""
    worker = KnownWorker(cache=tmp_path_factory.mktemp("cache"))
    build_pictures(lantern, tmp_path_factory.mktemp("built"), worker=worker)
    return worker
