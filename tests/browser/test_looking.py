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
from tests.browser.room_page import draw, go_to, on_frame, open_room, picture_places, press, saved, settled, sheet_filled, wait_until
from tests.make.measured import CUTS, FRAMES
from tests.make.open_rooms import KnownWorker, served

from shotcrit.room.serve import Serving

FRAME = 49
PIXEL = """(what, x, y) => {
  const canvas = document.querySelector(what);
  return [...canvas.getContext('2d').getImageData(canvas.width * x, canvas.height * y, 1, 1).data];
}"""
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
    sheet_filled(page)
    go_to(page, 1001 + FRAME)
    return page


def _picture(page: Page) -> npt.NDArray[np.int16]:
    """int16 [shape=(height, width, 3)]: what is on the screen in the middle of the picture."""
    settled(page)
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
    settled(page)
    assert page.evaluate(f"[0, 1].map({INK})") == [False, True]
    draw(page, (0.7, 0.4), (0.8, 0.4))  # right on the screen: left in the picture
    saved(page)
    press(page, "=")
    settled(page)
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


def _stage(page: Page) -> npt.NDArray[np.int16]:
    """int16 [shape=(height, width)]: all that is seen in the picture's place, grey."""
    settled(page)
    return np.asarray(Image.open(io.BytesIO(page.locator(".stage").screenshot())).convert("L"), dtype=np.int16)


def test_what_another_screen_cuts_off_lies_in_the_dark_and_safe_areas_are_drawn(page: Page) -> None:
    before = _stage(page)
    height, width = before.shape
    press(page, "'", "'", "'")
    page.get_by_text("cropped to 4:3").wait_for()
    after = _stage(page)
    side = round(width * (1 - (4 / 3) / (16 / 9)) / 2)
    assert after[20:-20, 4 : side - 4].mean() < 50 < before[20:-20, 4 : side - 4].mean()
    assert np.abs(after[20:-20, side + 4 : -side - 4] - before[20:-20, side + 4 : -side - 4]).max() <= 1
    press(page, "'", "'", "'", '"')
    page.get_by_text("safe 93 and 90 %").wait_for()
    changed = np.abs(_stage(page) - before)[height // 2 - 40 : height // 2 + 40].max(axis=0)
    lines = np.flatnonzero(changed[: width // 4] > 12)
    assert lines.min() == pytest.approx(0.035 * width, abs=4)
    assert lines.max() == pytest.approx(0.05 * width, abs=4)
    press(page, "=")
    assert np.abs(_stage(page) - before).max() <= 1


def test_two_frames_over_a_cut_are_flipped_and_laid_side_by_side(page: Page) -> None:
    first, last = CUTS[0] - 2, CUTS[0] + 2
    page.evaluate(f"window.goTo({1001 + first})")
    press(page, "t")
    page.evaluate(f"window.goTo({1001 + last})")
    press(page, "e", ":")
    wait_until(page, "[...document.querySelectorAll('.pair img')].filter((i) => i.complete && i.naturalWidth).length === 2")
    assert page.eval_on_selector_all(".pair img", "all => all.map((i) => Number(i.dataset.frame))") == [first, last]
    assert page.locator(".pair figcaption").all_inner_texts() == [str(1001 + first), str(1001 + last)]
    press(page, "Escape")
    page.locator(".pair").wait_for(state="detached")
    for frame in (first, last, first):
        press(page, ";")
        on_frame(page, frame)


def test_eyes_and_mouths_are_enlarged_where_there_are_marks(page: Page) -> None:
    press(page, "%")
    faces = page.get_by_role("group", name="faces", exact=True)
    faces.wait_for()
    press(page, "Shift+m")
    page.get_by_label("Name", exact=True).fill("Ada")
    page.get_by_role("button", name="a character", exact=True).click()
    page.get_by_role("group", name="characters and props").get_by_role("button", name="Ada", exact=True).wait_for()
    saved(page)
    for x in (0.74, 0.72, 0.75, 0.82):  # right eye, its rim, its iris; left eye: between them lies a red band of the lighthouse
        page.mouse.click(*picture_places(page, (x, 0.575))[0])
    saved(page)
    faces.get_by_role("img", name="Ada, eyes").wait_for()
    faces.get_by_text("no marks of the mouth on this frame").first.wait_for()
    wait_until(page, f"document.querySelector('.faces canvas').dataset.frame === '{FRAME}'")
    there, enlarged = (
        page.evaluate(f"({PIXEL})({what!r}, {x}, {y})") for what, x, y in (("canvas.picture", 0.78, 0.575), (".faces canvas", 0.5, 0.5))
    )
    assert there[0] > there[1] + 50  # red
    assert np.abs(np.array(enlarged) - there).max() <= 12


def test_the_shots_before_and_after_in_the_cut_lie_beside_its_ends(
    lantern: Path, known_worker: KnownWorker, tmp_path: Path, room_page: Page
) -> None:
    page = room_page
    for name in ("lantern_030.mp4", "lantern_040.mp4"):
        (tmp_path / name).write_bytes(lantern.read_bytes())
    with served(tmp_path / "lantern_040.mp4", tmp_path, worker=known_worker) as serving:
        open_room(page, serving.address)
        press(page, "&")
        row = page.get_by_role("group", name="in the cut", exact=True)
        row.get_by_text("no shot after this one in its folder").wait_for()
        row.get_by_role("img", name="lantern_030, its last frame").wait_for()
        wait_until(page, "[...document.querySelectorAll('.cut img')].filter((i) => i.complete && i.naturalWidth).length === 3")
        row.get_by_role("button").last.click()
        on_frame(page, FRAMES - 1)


def test_a_movie_from_disk_lies_beside_the_shot_in_step_and_is_kept(
    lantern: Path, known_worker: KnownWorker, tmp_path: Path, room_page: Page
) -> None:
    page = room_page
    for name in ("acted.mp4", "lantern_040.mp4"):
        (tmp_path / name).write_bytes(lantern.read_bytes())
    with served(tmp_path / "lantern_040.mp4", tmp_path, worker=known_worker) as serving:
        open_room(page, serving.address)
        press(page, "$")
        page.get_by_label("a still, a drawing or a movie from disk").fill(str(tmp_path / "acted.mp4"))
        page.get_by_role("button", name="lay it beside").click()
        beside = page.locator(".pair img[data-index]")
        page.locator('.pair img[data-index="0"]').wait_for()
        press(page, "Escape")  # out of the button, then closed
        press(page, "$")
        page.evaluate("window.goTo(1010)")
        page.locator('.pair img[data-index="9"]').wait_for()
        page.get_by_role("button", name="a frame later").click()
        page.locator('.pair img[data-index="10"]').wait_for()
        wait_until(page, "[...document.querySelectorAll('.pair img')].every((i) => i.complete && i.naturalWidth)")
        page.reload(wait_until="commit")
        page.wait_for_selector("canvas.picture[data-frame='0']")
        press(page, "$")
        page.locator('.pair img[data-index="1"]').wait_for()
        press(page, "Control+z")
        page.locator('.pair img[data-index="0"]').wait_for()
        page.get_by_role("button", name="take it away").click()
        beside.wait_for(state="detached")
