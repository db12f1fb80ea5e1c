"""Faces that were found, in the room: pale points until one press confirms them, swapped in one press, and pulled right where one lies wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from tests.browser.room_page import PATIENCE_MS, go_to, keep_picture, on_frame, open_room, picture_places, press, saved
from tests.browser.test_looks import SHOTS, _faults, _sticks_out
from tests.make.found_faces import face, listening
from tests.make.measured import measured
from tests.make.open_rooms import KnownWorker, served

from shotcrit.checks.measured import Measured
from shotcrit.crit.records import Take
from shotcrit.progress import Progress
from shotcrit.readings.cast import Cast, Placed
from shotcrit.readings.faces import FoundFace
from shotcrit.room.serve import Serving

MARKS = {"mouth_left": (0.03, 0.06), "mouth_right": (-0.03, 0.06), "lip_upper": (0.0, 0.05), "lip_lower": (0.0, 0.08)}

MOST_PRESSES = 10
"""To confirm two characters, opening the cast included."""


def _face(number: int, who: str, x: float, first: int) -> FoundFace:
    one = face(number, listening(60, np.random.default_rng(number)) + 0.2, start=first, x=x)
    points = {name: one.middle + np.array(shift, np.float32) for name, shift in MARKS.items()}
    return replace(one, who=who, sure=0.95, points=points, worth={"shut": first + 4, "open": first + 20})


@dataclass(frozen=True)
class FindsFaces(KnownWorker):
    """Knows two faces in the first shot."""

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        known = measured()
        return replace(known, readings=replace(known.readings, faces=(_face(1, "Oona", 0.35, 0), _face(2, "Bram", 0.7, 0))))

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        found = self.remembered(take, limits)
        assert found is not None
        return found


@pytest.fixture
def room(lantern: Path, known_worker: KnownWorker, tmp_path: Path) -> Iterator[Serving]:
    with served(lantern, tmp_path, worker=FindsFaces(cache=known_worker.cache)) as serving:
        yield serving


def _cast(serving: Serving) -> Cast:
    with serving.room.crit.view() as view:
        return next(iter(view.all(Take))).cast


def test_two_faces_are_swapped_in_one_press(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    press(page, "Shift+u")
    found = page.get_by_role("region", name="faces that were found")
    found.get_by_role("button", name="lips shut 1005").first.click()
    on_frame(page, 4)
    keep_picture(page, SHOTS / "faces-found.png")
    assert _faults(page) == []
    assert _sticks_out(page) <= 0

    found.get_by_role("button", name="swap Bram and Oona").click()
    saved(page)
    assert [(f.who, f.frame, round(f.x, 2)) for f in _cast(room).faces] == [("Bram", 1001, 0.35), ("Oona", 1001, 0.7)]
    press(page, "Control+z")
    saved(page)
    assert _cast(room).faces == ()


def test_a_press_confirms_a_face_and_a_pull_corrects_one_of_its_points(room: Serving, room_page: Page) -> None:
    page = room_page
    open_room(page, room.address)
    press(page, "Shift+u")
    found = page.get_by_role("region", name="faces that were found")
    confirm = found.get_by_role("button", name="confirm", exact=True)
    presses = 1
    for who, left in (("Oona", 1), ("Bram", 0)):
        confirm.first.click()
        presses += 1
        expect(confirm).to_have_count(left, timeout=PATIENCE_MS)
        expect(found.get_by_text("confirmed", exact=True)).to_have_count(2 - left, timeout=PATIENCE_MS)
        saved(page)
        assert _placed(room, who) == {name: [1005, 1021] for name in MARKS}
    assert presses < MOST_PRESSES
    assert _marks(room, "Oona")["mouth_left"][0].x == pytest.approx(0.38, abs=1e-4)
    keep_picture(page, SHOTS / "faces-confirmed.png")

    page.get_by_role("group", name="characters and props").get_by_role("button", name="Oona", exact=True).click()
    press(page, "Shift+m")
    go_to(page, 1005)
    before = _marks(room, "Oona")["lip_lower"]
    _pull(page, (before[0].x, before[0].y), (before[0].x + 0.03, before[0].y + 0.06))
    now = _marks(room, "Oona")["lip_lower"]
    assert [p.frame for p in now] == [1005, 1021]
    assert (now[0].x, now[0].y) == (pytest.approx(before[0].x + 0.03, abs=0.004), pytest.approx(before[0].y + 0.06, abs=0.006))
    assert now[1] == before[1]
    assert _placed(room, "Oona") == {name: [1005, 1021] for name in MARKS}


def _marks(serving: Serving, who: str) -> Mapping[str, tuple[Placed, ...]]:
    person = _cast(serving).character(who)
    assert person is not None
    return person.marks


def _placed(serving: Serving, who: str) -> dict[str, list[int]]:
    return {name: [p.frame for p in spots] for name, spots in _marks(serving, who).items()}


def _pull(page: Page, start: tuple[float, float], stop: tuple[float, float]) -> None:
    """Press on a point of the picture and pull it to another."""
    at = picture_places(page, start, stop)
    page.mouse.move(*at[0])
    page.mouse.down()
    page.mouse.move(*at[1], steps=4)
    page.mouse.up()
    saved(page)
