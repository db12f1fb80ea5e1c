"""The networks that find faces, run by OpenCV, on heads by two generators that share nothing with each other."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from tests.make import heads, heads3d
from tests.make.moving import noise_texture

from shotcrit.readings.picture.faces.nets import READ, SEEK, Box, FaceNets, shared

pytestmark = pytest.mark.usefixtures("weights")


def _square(grey: np.ndarray, side: int) -> np.ndarray:
    return np.asarray(cv2.cvtColor(cv2.resize(grey, (side, side), interpolation=cv2.INTER_AREA), cv2.COLOR_GRAY2RGB))


@pytest.fixture(scope="module")
def nets() -> FaceNets:
    return FaceNets()


@pytest.mark.parametrize("film", [heads.paint([heads.Card()]), heads3d.render([heads3d.Pose()])], ids=["drawn", "solid"])
def test_a_head_is_found_where_it_is_and_its_lips_where_they_are(nets, film):
    frame, marks = film.frames[0], {name: spots[0] for name, spots in film.marks.items()}
    box = nets.seek(_square(frame, SEEK), 0.5)[0]
    eyes = (marks["eye_left"] + marks["eye_right"]) / 2 * SEEK / 360
    assert abs(box.x - eyes[0]) < 8
    assert box.y - box.size / 2 < eyes[1] < box.y + box.size / 2
    points, presence = nets.read(_square(frame[20:340, 20:340], READ))
    assert presence > 0.9
    corners = points[[78, 308], :2] * 320 / READ + 20
    apart = np.linalg.norm(marks["eye_left"] - marks["eye_right"])
    for corner, side in zip(corners, ("right", "left"), strict=True):
        assert np.linalg.norm(corner - marks[f"mouth_{side}"]) < 0.25 * apart


def test_a_wall_is_no_face(nets):
    wall = noise_texture(300, grain=4, seed=3, contrast=30)
    assert nets.seek(_square(np.clip(wall, 0, 255).astype(np.uint8), SEEK), 0.5) == []
    assert nets.read(_square(np.clip(wall, 0, 255).astype(np.uint8), READ))[1] < 0.5


def test_boxes_share_what_both_cover():
    one = Box(0.9, 50, 50, 20, np.zeros((2, 2), np.float32))
    assert shared(one, one) == pytest.approx(1)
    assert shared(one, Box(0.9, 60, 50, 20, np.zeros((2, 2), np.float32))) == pytest.approx(1 / 3)
    assert shared(one, Box(0.9, 71, 50, 20, np.zeros((2, 2), np.float32))) == 0
    assert shared(one, Box(0.9, 50, 50, 10, np.zeros((2, 2), np.float32))) == pytest.approx(1 / 4)
