"""A region that seems to freeze, asked again with the marks that stand in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.make.picture_rows import judged, with_picture

from shotcrit.checks.finding import Finding
from shotcrit.checks.hold import check as hold
from shotcrit.clock import Span
from shotcrit.readings.acting import Acting, CameraView, MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.seen import Box, FrozenRegion

FRAMES, STOP = 60, (20, 28)
BOX = Box(0.5, 0.0, 0.9, 0.6)
MARKS = ("nose", "chin", "chest", "shoulder_left")


def frozen(camera_px: float = 0.0) -> Readings:
    """One region stands over STOP, says the picture; the set goes by at `camera_px` a frame."""
    made = with_picture(FRAMES)
    assert made.picture is not None
    camera = np.zeros((FRAMES, 2, 3), np.float32)
    camera[:, 0, 2] = camera_px
    stop = FrozenRegion(Span(STOP[0], STOP[1] + 1), BOX)
    return replace(made, picture=replace(made.picture, frozen=(stop,), camera=camera))


def acting(
    readings: Readings, px: float, *, moving: int = len(MARKS), error: float = 0.1, x: float = 0.7, camera_px: float = 0.0
) -> Readings:
    """Marks in the region, the first `moving` of which drift by `px` a frame besides what the camera does."""
    width = readings.movie.width or 1
    tracks = {}
    for i, mark in enumerate(MARKS):
        step = camera_px + (px if i < moving else 0.0)
        xy = np.stack([x + np.arange(FRAMES) * step / width, np.full(FRAMES, 0.1 + 0.1 * i)], axis=1).astype(np.float32)
        tracks[mark] = MarkTrack("Ada", mark, xy, np.full(FRAMES, error, np.float32))
    return replace(readings, acting=(Acting("Ada", 2, tracks),))


def stops(readings: Readings) -> list[Finding]:
    return [f for f in judged(hold, readings) if f.kind == "region"]


def test_without_marks_the_region_is_named_by_its_place() -> None:
    (found,) = stops(frozen())
    assert (found.who, found.level) == (None, 0)
    assert found.says.startswith("The figure screen right holds still for 9 frames")


def test_a_figure_whose_marks_drift_slowly_is_not_frozen() -> None:
    """Nine dead frames, ten pictures: 0.3 px a frame is 2.7 px over the stop, where 1/1280 of the width and 3 x 0.1 px are asked."""
    assert stops(acting(frozen(), 0.3)) == []


@pytest.mark.parametrize(("px", "moving", "error"), [(0.0, 4, 0.1), (0.01, 4, 0.1), (0.3, 1, 0.1), (0.3, 4, 1.0)])
def test_marks_that_stand_or_cannot_tell_leave_the_finding_and_name_it(px: float, moving: int, error: float) -> None:
    (found,) = stops(acting(frozen(), px, moving=moving, error=error))
    assert (found.who, found.level, found.value) == ("Ada", 2, 9)
    assert found.says.startswith("Ada holds still for 9 frames")


def test_marks_elsewhere_say_nothing_of_the_region() -> None:
    (found,) = stops(acting(frozen(), 0.3, x=0.1))
    assert found.who is None


def test_what_the_camera_adds_is_no_life() -> None:
    """The set goes by at 2 px a frame, and the marks with it: they stand, but how well the set's movement is known decides, so they are not asked."""
    (found,) = stops(acting(frozen(2.0), 0.0, camera_px=2.0))
    assert found.who is None


@pytest.mark.parametrize(("metres", "lives"), [(0.0, False), (0.003, True)])
def test_a_scene_tells_life_from_the_cameras_travel(metres: float, lives: bool) -> None:
    """A camera that goes sideways by 2 cm a frame, 2 m from the figure; focal length one width: 3 mm a frame are 1.5 thousandths of the width."""
    readings = frozen(2.0)
    width, height = readings.movie.width or 1, readings.movie.height or 1
    matrix = np.array([[width, 0, width / 2], [0, width, height / 2], [0, 0, 1]], np.float32)
    views, tracks = [], {}
    for frame in range(FRAMES):
        view = np.eye(4, dtype=np.float32)
        view[0, 3] = -0.02 * frame
        views.append(CameraView(matrix, view))
    for i, mark in enumerate(MARKS):
        world = np.stack([0.4 + metres * np.arange(FRAMES), np.full(FRAMES, -0.1 + 0.02 * i), np.full(FRAMES, 2.0)], axis=1)
        xy = np.stack([0.7 - 0.01 * np.arange(FRAMES) + metres / 2 * np.arange(FRAMES), np.full(FRAMES, 0.3)], axis=1)
        xy[:, 0] = np.clip(xy[:, 0], BOX.left, BOX.right)
        tracks[mark] = MarkTrack("Ada", mark, xy.astype(np.float32), np.zeros(FRAMES, np.float32), world=world.astype(np.float32))
    found = stops(replace(readings, acting=(Acting("Ada", 3, tracks),), cameras=tuple(views)))
    assert [f.who for f in found] == ([] if lives else ["Ada"])
