"""The cast in the room: a face placed point by point, corrected, followed; marks as a table; looks and contacts drawn."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page
from tests.browser.room_page import (
    PATIENCE_MS,
    go_to,
    keep_picture,
    on_frame,
    open_room,
    picture_places,
    press,
    saved,
    sheet_filled,
    wait_until,
)
from tests.browser.test_looks import SHOTS, _faults, _sticks_out
from tests.make.demo_clip import FIRST, demo_clip, placed_in_demo
from tests.make.measured import CUTS
from tests.make.open_rooms import KnownWorker, served
from tests.make.rooms import until

from shotcrit.crit.records import Take
from shotcrit.readings.cast import Cast
from shotcrit.room.local_worker import LocalWorker
from shotcrit.room.serve import Serving

FACE = (
    "eye_right", "eye_right_edge", "iris_right", "eye_left", "eye_left_edge", "iris_left",
    "nose", "mouth_right", "mouth_left", "lip_upper", "lip_lower", "chin", "head_top",
)  # fmt: skip


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=known_worker) as serving:
        yield serving


def _cast(serving: Serving) -> Cast:
    with serving.room.crit.view() as view:
        return next(iter(view.all(Take))).cast


def _at(page: Page, x: float, y: float) -> tuple[float, float]:
    """Window pixels of a point of the picture."""
    return picture_places(page, (x, y))[0]


def _click(page: Page, x: float, y: float) -> None:
    page.mouse.click(*_at(page, x, y))


def _pull(page: Page, start: tuple[float, float], stop: tuple[float, float]) -> None:
    page.mouse.move(*_at(page, *start))
    page.mouse.down()
    page.mouse.move(*_at(page, (start[0] + stop[0]) / 2, (start[1] + stop[1]) / 2), steps=3)
    page.mouse.move(*_at(page, *stop), steps=3)
    page.mouse.up()
    saved(page)


def _add(page: Page, name: str, kind: str) -> None:
    if page.get_by_role("button", name="add…").count():
        page.get_by_role("button", name="add…").click()
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_role("button", name=f"a {kind}", exact=True).click()
    page.get_by_role("group", name="characters and props").get_by_role("button", name=name, exact=True).wait_for()
    saved(page)


def _begin(page: Page, serving: Serving, name: str = "Oona", kind: str = "character", *, silent: bool = False) -> None:
    open_room(page, serving.address)
    if not silent:
        sheet_filled(page)
    press(page, "Shift+m")
    _add(page, name, kind)


def _keep(page: Page, name: str) -> None:
    keep_picture(page, SHOTS / f"{name}.png")
    assert _faults(page) == [], name
    assert _sticks_out(page) <= 0, name


def _ask(page: Page) -> str:
    return page.locator(".strip .ask").inner_text()


def test_a_face_takes_one_click_a_point_and_undo_takes_points_back(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room)
    go_to(page, 1005)
    for k, mark in enumerate(FACE):
        assert mark.split("_")[0] in _ask(page) or "lip" in mark or "mouth" in mark or "top" in mark
        _click(page, 0.3 + k / 40, 0.4)
    saved(page)
    assert "The face is placed on 1005." in _ask(page)
    marks = _cast(room).characters[0].marks
    assert {m: [p.frame for p in spots] for m, spots in marks.items()} == {mark: [1005] for mark in FACE}
    # A window's pixel is a hundredth of a percent of the picture here.
    assert all(marks[m][0].x == pytest.approx(0.3 + k / 40, abs=0.002) for k, m in enumerate(FACE))

    press(page, "Control+z")
    page.get_by_role("button", name="top of the head, not placed yet").wait_for()
    assert "head_top" not in _cast(room).characters[0].marks
    press(page, "Control+Shift+z")
    page.get_by_role("button", name="top of the head, placed on this frame").wait_for()


def test_undo_brings_the_hand_back_to_the_point_it_took_off(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room)
    for k in range(3):
        _click(page, 0.3 + k / 40, 0.4)
    saved(page)
    assert "left eyeball" in _ask(page)
    press(page, "Control+z", "Control+z")
    page.locator(".strip .ask", has_text="rim of the right eyeball").wait_for()
    _click(page, 0.35, 0.45)
    page.locator(".strip .ask", has_text="right iris").wait_for()
    saved(page)
    marks = _cast(room).characters[0].marks
    assert set(marks) == {"eye_right", "eye_right_edge"}
    assert marks["eye_right_edge"][0].x == pytest.approx(0.35, abs=0.002)

    go_to(page, 1010)
    press(page, "Control+z")  # on another frame: the hand goes back to where the point was
    on_frame(page, 0)
    page.locator(".strip .ask", has_text="rim of the right eyeball").wait_for()
    press(page, "Control+Shift+z")
    page.locator(".strip .ask", has_text="right iris").wait_for()


def test_marking_opens_on_who_is_in_the_picture(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room, "Ada")  # of her, and of Cass, nothing is followed in what is known
    _click(page, 0.3, 0.4)
    saved(page)
    _add(page, "Cass", "character")
    go_to(page, 1001 + CUTS[0] + 2)
    _click(page, 0.7, 0.4)
    saved(page)
    for frame, who in ((0, "Ada"), (CUTS[0] + 2, "Cass"), (0, "Ada")):
        press(page, "Escape")
        go_to(page, 1001 + frame)
        press(page, "Shift+m")
        page.get_by_role("button", name=who, exact=True, pressed=True).wait_for()


def test_keys_move_skip_take_off_and_walk(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room)
    _click(page, 0.5, 0.5)
    saved(page)
    before = _cast(room).characters[0].marks["eye_right"][0]
    # Within one turn of the page, since keys that a busy machine hands over late are no longer one movement.
    page.evaluate("""() => {
      for (const key of ['ArrowRight', 'ArrowRight', 'ArrowRight', 'ArrowUp']) window.press(key);
      window.press('ArrowLeft', { shiftKey: true });
    }""")
    until(lambda: _cast(room).characters[0].marks["eye_right"][0] != before)
    saved(page)
    after = _cast(room).characters[0].marks["eye_right"][0]
    # 640 by 360 pixels: three quarters to the right less two to the left, a quarter up.
    assert ((after.x - before.x) * 640, (after.y - before.y) * 360) == (pytest.approx(-1.25, abs=1e-6), pytest.approx(-0.25, abs=1e-6))
    history = page.evaluate("fetch('api/history').then((r) => r.json()).then((h) => h.entries.map((e) => e.label))")
    assert history[:2] == ["place Oona's eye right"] * 2  # five keys, one step of undo

    assert "rim of the right eyeball" in _ask(page)
    press(page, "s")
    assert "right iris" in _ask(page)
    page.get_by_role("button", name="rim of the right eyeball, left out on this frame").wait_for()
    press(page, "p", "p")
    assert "right eyeball" in _ask(page)
    press(page, "Backspace")
    saved(page)
    assert _cast(room).characters[0].marks == {}
    press(page, "n", "n", "n")
    assert "left eyeball" in _ask(page)
    press(page, "Control+ArrowDown")
    on_frame(page, 1)
    press(page, "Escape")
    assert page.locator(".strip").count() == 0


def test_the_frames_worth_marking_are_offered_by_ear_before_anything_is_followed(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room)
    press(page, "j")
    wait_until(page, "window.seen().drawn > 0")
    shown = page.evaluate("window.seen().readout")
    on_frame(page, shown - 1001)
    phones = _sheet(page)["phones"]
    under = [p["phone"] for p in phones if p["first"] <= shown - 1001 <= p["last"]]
    assert set(under) & {"M", "B", "P", "AA", "AE", "AH", "AO", "AW", "AY", "IY", "EH", "EY"}
    assert "right corner of the mouth" in _ask(page)


def test_marks_go_out_as_a_table_and_come_back_exactly(room: Serving, room_page: Page, tmp_path: Path) -> None:
    page = room_page
    _begin(page, room)
    for k in range(5):
        _click(page, 0.31 + k / 37, 0.4 + k / 91)
    saved(page)
    before = _cast(room)
    with page.expect_download() as waiting:
        page.get_by_role("link", name="placed ones only").click()
    table = tmp_path / "marks.csv"
    waiting.value.save_as(table)
    assert table.read_text().splitlines()[0] == "frame,who,mark,x,y,error,placed,kind"
    page.get_by_role("button", name="delete…").click()
    page.get_by_role("button", name="delete", exact=True).click()
    page.get_by_text("Nobody is in the cast yet.").wait_for()
    assert _cast(room) == Cast()
    page.set_input_files("aside input[type=file]", table)
    page.get_by_text("5 placed marks, 5 of them new").wait_for()
    assert _cast(room) == before
    press(page, "Control+z")
    page.get_by_text("Nobody is in the cast yet.").wait_for()


def test_looks_and_contacts_are_drawn_changed_and_deleted(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room)
    for x in (0.30, 0.29, 0.31, 0.36):  # eyes near (0.33, 0.4)
        _click(page, x, 0.4)
    saved(page)
    _add(page, "lantern", "prop")
    page.get_by_label("name of a new mark").fill("handle")
    page.get_by_role("button", name="place it").click()
    _click(page, 0.7, 0.7)
    saved(page)

    page.evaluate("window.goTo(1010)")
    press(page, "t")
    page.evaluate("window.goTo(1020)")
    press(page, "e", "Home", "Shift+y")
    on_frame(page, 0)
    _pull(page, (0.33, 0.4), (0.705, 0.69))
    look = _cast(room).looks[0]
    assert (look.who, look.at, look.first, look.last) == ("Oona", "lantern.handle", 1010, 1020)
    _pull(page, (0.33, 0.4), (0.5, 0.1))
    point = _cast(room).looks[0].at
    assert not isinstance(point, str)
    assert (point.x, point.y) == (pytest.approx(0.5, abs=0.003), pytest.approx(0.1, abs=0.005))

    page.evaluate("window.goTo(1015)")
    press(page, "t", "e", "c")
    saved(page)
    assert [(k.at if isinstance(k.at, str) else "point", k.first, k.last) for k in _cast(room).looks] == [
        ("point", 1010, 1014), ("camera", 1015, 1015), ("point", 1016, 1020),
    ]  # fmt: skip
    page.get_by_role("button", name="Oona at the camera").click()
    page.get_by_label("looks at").select_option("lantern.handle")
    saved(page)
    assert _cast(room).looks[1].at == "lantern.handle"
    page.get_by_role("button", name="Oona at lantern, handle").click()
    page.locator(".edit").get_by_role("button", name="delete").click()
    saved(page)
    assert len(_cast(room).looks) == 2

    go_to(page, 1001)
    press(page, "Escape", "Escape", "Shift+k")
    _pull(page, (0.36, 0.4), (0.70, 0.70))
    contact = _cast(room).contacts[0]
    assert {contact.a.split(".")[0], contact.b} == {"Oona", "lantern.handle"}
    page.get_by_role("button", name="on lantern, handle").wait_for()
    press(page, "Delete")
    saved(page)
    assert _cast(room).contacts == ()
    press(page, "Control+z")
    page.get_by_role("button", name="on lantern, handle").wait_for()


def test_a_look_off_the_picture_is_at_the_partner_who_is_there(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room, "Ada")
    for x in (0.30, 0.29, 0.31, 0.36):
        _click(page, x, 0.4)
    saved(page)
    press(page, "Shift+y")
    _pull(page, (0.33, 0.4), (1.02, 0.45))
    page.locator("header .says", has_text="Add them to the cast by name").wait_for()
    assert _cast(room).looks == ()
    _add(page, "Cass", "character")
    _pull(page, (0.33, 0.4), (1.02, 0.45))
    look = _cast(room).looks[0]
    assert (look.who, look.at, look.off) == ("Ada", "Cass", "right")
    page.get_by_role("button", name="Ada at Cass, off to screen right").click()
    page.get_by_label("where they are").select_option("behind")
    saved(page)
    assert _cast(room).looks[0].off == "behind"
    press(page, "Control+z")
    page.get_by_role("button", name="Ada at Cass, off to screen right").wait_for()


SIZES: dict[str, tuple[int, int]] = {"20-cast": (1440, 900), "21-cast-small": (1180, 720), "22-cast-at-200-percent": (720, 450)}


def test_marking_is_sound_at_every_size(room: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, room)
    for k in range(6):
        _click(page, 0.31 + k / 37, 0.4)
    saved(page)
    for name, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        page.mouse.move(*_at(page, 0.4, 0.4))
        _keep(page, name)
    page.set_viewport_size({"width": 1180, "height": 720})
    press(page, "Shift+y")
    _keep(page, "23-look")
    press(page, "Shift+k")
    _keep(page, "24-contact")


@pytest.fixture(scope="module")
def piece(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    """A room over a piece of the demo film in which everything is really measured."""
    folder = tmp_path_factory.mktemp("piece")
    worker = LocalWorker(folder / "cache", folder / "characters")
    with served(demo_clip(folder), folder, worker=worker, first_frame=FIRST) as serving:
        yield serving


def _sheet(page: Page) -> dict[str, Any]:
    address = "document.querySelector('a[download]').href.replace(/marks.*/, 'sheet')"
    return dict(page.evaluate(f"fetch({address}).then((r) => r.json())"))


GROWN = """() => {
  const canvas = document.querySelector('canvas.cast');
  window.grown = 0;
  new MutationObserver(() => { window.grown = Math.max(window.grown, Number(canvas.dataset.growing)); }).observe(canvas, { attributeFilter: ['data-growing'] });
}"""
"""Remembers how many paths were seen growing: on a slow page they may have grown before it is asked."""


def _acting(page: Page, who: str) -> dict[str, Any]:
    """What was read of one who acts. The sheet is read anew only after the marks have been followed: on a busy machine seconds later."""
    for _ in range(PATIENCE_MS // 500):
        for acting in _sheet(page)["acting"]:
            if acting["who"] == who and acting["worth"]:
                return dict(acting)
        page.wait_for_timeout(500)
    raise AssertionError(f"nothing was read of {who}")


def _path(page: Page, mark: str) -> list[float]:
    """y of a followed mark on every frame, in pixels of the picture; nan as -1."""
    tables = "fetch(document.querySelector('a[download]').href).then((r) => r.text())"
    rows = [row.split(",") for row in page.evaluate(tables).splitlines()[1:]]
    return [float(row[4]) * 540 if row[4] else -1 for row in rows if row[2] == mark]


def _rest(page: Page, piece: Serving) -> None:
    """Until what the cast says now was ordered to be followed, and nothing is followed any more: the room waits a moment for further clicks."""
    room = piece.room
    take = room.takes.listed()[0].id
    for _ in range(PATIENCE_MS // 50):
        if room.measurements.as_ordered(room.takes.get(take)) and room.jobs.running("measure", take) is None:
            break
        page.wait_for_timeout(100)
    else:
        raise AssertionError("marks are still being followed")
    wait_until(page, "!document.querySelector('progress[aria-label=measuring]')")


def test_a_face_on_the_demo_film_is_followed_as_it_is_placed_and_corrected(piece: Serving, room_page: Page) -> None:
    page = room_page
    _begin(page, piece, silent=True)
    _rest(page, piece)
    frame = FIRST + 17
    go_to(page, frame, FIRST)
    page.evaluate(GROWN)
    for mark in FACE:
        _click(page, *placed_in_demo("Oona", mark, frame))
    saved(page)
    wait_until(page, "window.grown > 0")  # paths come before all is done
    _rest(page, piece)
    nose = _path(page, "nose")
    assert sum(y > 0 for y in nose) > len(nose) / 2
    acting = _acting(page, "Oona")
    assert set(acting["worth"]) >= {"shut", "open"}  # by sight, now that the head is steadied
    assert acting["gaze"]

    # A correction three quarters through: frames before the first placed one stay, those around the correction come along.
    go_to(page, FIRST + 30, FIRST)
    x, y = placed_in_demo("Oona", "nose", FIRST + 30)
    press(page, "Escape", "Shift+m")
    page.get_by_role("button", name="nose, placed on other frames").click()
    _click(page, x, y + 0.02)
    saved(page)
    _rest(page, piece)
    moved = _path(page, "nose")
    assert moved[30] == pytest.approx((y + 0.02) * 540, abs=0.6)
    # Marks are followed together, in other company now: hundredths of a pixel differ, far below the third of one that a path is sure of.
    assert moved[:17] == pytest.approx(nose[:17], abs=0.1)
    assert moved[29] - nose[29] > 4
    assert abs(moved[18] - nose[18]) < abs(moved[29] - nose[29])
    press(page, "Control+z")
    saved(page)
    _rest(page, piece)
    assert _path(page, "nose") == pytest.approx(nose, abs=1e-3)
    # What was learnt of her waits for the next shot.
    page.get_by_text("serve the next shot").wait_for()
