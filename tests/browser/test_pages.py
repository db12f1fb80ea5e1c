"""The sent pages in a real browser: nothing asked for, nothing refused by their own policy, every key works."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.browser.room_page import PATIENCE_MS
from tests.make.crits import crit
from tests.make.installed import CHROMIUM, needed
from tests.make.measured import Names, measured
from tests.unit.deliver.test_sheet import still

from shotcrit.deliver.crit_page import crit_page, read_answers
from shotcrit.deliver.page import write_page


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    chromium = needed(*CHROMIUM)
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"])
        yield started
        started.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page whose console must stay silent and which may load one file and nothing else."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    context.set_default_timeout(PATIENCE_MS)
    shown = context.new_page()
    complaints: list[str] = []
    asked: list[str] = []
    shown.on("console", lambda message: complaints.append(message.text))
    shown.on("pageerror", lambda error: complaints.append(str(error)))
    shown.on("request", lambda request: asked.append(request.url))
    yield shown
    context.close()
    assert complaints == []
    assert [url[:80] for url in asked if not url.startswith(("file:", "data:", "blob:"))] == []


def test_a_finding_leads_to_its_rows_and_back(page: Page, tmp_path: Path) -> None:
    write_page(measured(), tmp_path / "p.html", still=still)
    page.goto((tmp_path / "p.html").as_uri())
    pane = page.locator(".pane")
    assert pane.evaluate("e => e.scrollTop") == 0
    page.locator("#finding-5 a.frames").focus()
    page.keyboard.press("Enter")
    band, row = page.locator(".band").bounding_box(), page.get_by_text("1258", exact=True).first.bounding_box()
    assert band is not None
    assert row is not None
    assert abs(row["y"] - band["y"]) < row["height"]
    assert 0 < band["y"] < 900
    page.locator("#sheet .block a[href='#finding-5']").first.click()
    expect(page).to_have_url(re.compile("#finding-5$"))


def test_the_sheet_grows_and_its_heads_stay(page: Page, tmp_path: Path) -> None:
    write_page(measured(), tmp_path / "p.html", still=still)
    page.goto((tmp_path / "p.html").as_uri())
    before = page.locator(".roll").bounding_box()
    page.get_by_role("button", name="Larger rows").click()
    after = page.locator(".roll").bounding_box()
    assert before is not None
    assert after is not None
    assert after["width"] / before["width"] == pytest.approx(1.25, rel=0.02)
    page.locator(".pane").evaluate("e => { e.scrollTop = 900 }")
    heads, pane = page.locator(".heads").bounding_box(), page.locator(".pane").bounding_box()
    assert heads is not None
    assert pane is not None
    assert heads["y"] == pytest.approx(pane["y"], abs=1)


def test_nothing_sticks_out_sideways_at_any_width(page: Page, tmp_path: Path) -> None:
    long = Names(shot="Lantern" * 30, one="Oona" * 25, says="wordwithoutanybreak" * 30)
    write_page(measured(names=long), tmp_path / "p.html", still=still)
    page.goto((tmp_path / "p.html").as_uri())
    for width in (1440, 1024, 700, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0, width


def test_the_animator_ticks_answers_and_saves(page: Page, tmp_path: Path) -> None:
    (tmp_path / "c.html").write_text(crit_page(crit(still)), encoding="utf-8")
    page.goto((tmp_path / "c.html").as_uri())
    page.locator("#finding-1 .done").check()
    page.locator("#finding-2 textarea").fill("Is <b>her</b> left shoulder enough? \u2192")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save answers").click()
    assert waiting.value.suggested_filename == "Lantern 040 take 3 answers.json"
    waiting.value.save_as(tmp_path / "a.json")
    answers = read_answers(tmp_path / "a.json")
    assert (answers.crit, answers.take, answers.who) == ("c-lantern", "t3", "Ada")
    assert [(a.note, a.done) for a in answers.answers] == [("n1", True), ("n2", False), ("n3", False)]
    assert answers.answers[1].text == "Is <b>her</b> left shoulder enough? \u2192"
    assert "saved" in page.locator(".send .state").inner_text()


def test_the_frames_step_one_by_one_with_their_own_pictures_and_drawings(page: Page, tmp_path: Path) -> None:
    sent = crit(still)
    (tmp_path / "c.html").write_text(crit_page(sent), encoding="utf-8")
    page.goto((tmp_path / "c.html").as_uri())
    figure = page.locator("#finding-1 figure")
    reel = json.loads(figure.locator(".reel").text_content() or "")
    assert figure.locator("output").inner_text() == "1083"
    for step in range(1, 4):
        figure.get_by_role("button", name="One frame on").click()
        assert figure.locator("output").inner_text() == str(1083 + step)
        assert figure.locator("svg image").get_attribute("href") == reel["pictures"][82 - 74 + step]
        assert figure.locator("svg g[data-first]").is_visible() == (82 + step <= 84)
    figure.get_by_label("drawing").uncheck()
    figure.get_by_role("button", name="One frame back").click()
    assert not figure.locator("svg g[data-first]").is_visible()


def test_play_runs_through_the_frames_and_stops(page: Page, tmp_path: Path) -> None:
    (tmp_path / "c.html").write_text(crit_page(crit(still)), encoding="utf-8")
    page.goto((tmp_path / "c.html").as_uri())
    figure = page.locator("#finding-1 figure")
    figure.get_by_role("button", name="Run note 1").click()
    # Asked for as an expectation: the page's own policy forbids evaluating a string while waiting.
    expect(figure.locator("output")).not_to_have_text("1083")
    figure.get_by_role("button", name="Run note 1").click()
    stopped = figure.locator("output").inner_text()
    page.wait_for_timeout(150)
    assert figure.locator("output").inner_text() == stopped
    assert 1075 <= int(stopped) <= 1092
