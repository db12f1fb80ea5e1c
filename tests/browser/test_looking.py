"""Ways to look: what is done to the picture is seen in its pixels, and what lies over it stays where it belongs."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image
from playwright.sync_api import Page
from tests.browser.room_page import draw, open_room, press, saved, wait_until
from tests.make.open_rooms import KnownWorker, served

from shotcrit.room.serve import Serving

FRAME = 49
INK = """((side) => {
  const canvas = document.querySelector('canvas.overlay'), on = canvas.getContext('2d'), half = Math.round(canvas.width / 2);
  return on.getImageData(side * half, 0, half, canvas.height).data.some((v, i) => i % 4 === 3 && v > 200);
})"""


@pytest.fixture
def page(lantern: Path, known_worker: KnownWorker, tmp_path: Path, room_page: Page) -> Iterator[Page]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield _opened(serving, room_page)


def _opened(serving: Serving, page: Page) -> Page:
    open_room(page, serving.address)
    page.evaluate(f"window.goTo({1001 + FRAME})")
    page.evaluate(f"window.until({FRAME})")
    return page


def _picture(page: Page) -> npt.NDArray[np.int16]:
    """int16 [shape=(height, width, 3)]: what is on the screen in the middle of the picture."""
    page.evaluate("window.settled()")
    shot = Image.open(io.BytesIO(page.locator("canvas.picture").screenshot())).convert("RGB")
    pixels = np.asarray(shot, dtype=np.int16)
    return pixels[pixels.shape[0] // 4 : -pixels.shape[0] // 4, 4:-4]  # its sides touch what lies beside it


def test_a_mirrored_picture_takes_its_drawings_along(page: Page) -> None:
    before = _picture(page)
    assert np.abs(before - before[:, ::-1]).mean() > 2
    press(page, "Shift+h")
    assert np.abs(_picture(page) - before[:, ::-1]).mean() < 1  # edges are mixed from the other side
    press(page, "=")
    press(page, "1")
    draw(page, (0.2, 0.5), (0.3, 0.6))
    saved(page)
    assert page.evaluate(f"[0, 1].map({INK})") == [True, False]
    press(page, "Shift+h")
    page.evaluate("window.settled()")
    assert page.evaluate(f"[0, 1].map({INK})") == [False, True]
    draw(page, (0.7, 0.4), (0.8, 0.4))  # right on the screen: left in the picture
    saved(page)
    press(page, "=")
    page.evaluate("window.settled()")
    assert page.evaluate(f"[0, 1].map({INK})") == [True, False]


def test_values_are_grey_a_silhouette_is_two_tones_and_light_goes_in_steps(page: Page) -> None:
    before = _picture(page)
    assert np.ptp(before, axis=2).max() > 30
    press(page, "Shift+q")
    assert np.ptp(_picture(page), axis=2).max() <= 1
    press(page, "Shift+p")
    assert np.isin(_picture(page), (0, 255)).mean() > 0.95
    press(page, "Shift+p", "*")
    page.get_by_text("light 125 %").wait_for()
    brighter = _picture(page)
    dark = before.max(axis=2) < 180
    assert brighter[dark].mean() == pytest.approx(before[dark].mean() * 1.25, rel=0.03)
    press(page, "=")
    assert np.abs(_picture(page) - before).max() <= 1


def test_the_row_is_gone_until_asked_for_and_a_second_window_sees_the_same(page: Page) -> None:
    row = page.get_by_role("group", name="ways to look", exact=True)
    assert row.count() == 0
    press(page, "_")
    row.get_by_role("button", name="values only").click()
    with page.expect_popup() as opened:
        press(page, "Shift+e")
    other = opened.value
    wait_until(other, "document.querySelector('canvas.picture')?.style.filter === 'grayscale(1)'")
    other.get_by_text("values only").wait_for()
    other.close()
