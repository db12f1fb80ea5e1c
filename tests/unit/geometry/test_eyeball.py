"""Eyeballs worked by hand: a straight look, a look to the side, an eye away from the picture's middle."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shotcrit.geometry.eyeball import (
    Eyeball,
    across_and_down,
    angle_between,
    assumed_camera,
    eyeball_at,
    look_at_pixel,
    pixel_of_look,
    ray_of,
    turned_to,
)

CAMERA = np.array([[1000.0, 0, 500], [0, 1000, 400], [0, 0, 1]])


def test_focal_length_from_the_field_of_view() -> None:
    # 90 degrees: half the height is as long as the focal length.
    assert assumed_camera((200, 100), fov=90)[0, 0] == pytest.approx(50)


def test_an_eye_in_the_middle_that_looks_into_the_lens() -> None:
    eye = Eyeball(np.array([0.0, 0, 20]))
    assert look_at_pixel(eye, np.array([500.0, 400]), CAMERA) == pytest.approx([0, 0, -1])


def test_a_look_thirty_degrees_to_screen_right_by_hand() -> None:
    # Centre 20 radii away; the iris sits at sin 30 = 0.5 to the right and cos 30 = 0.8660 nearer: px 500 + 1000 * 0.5 / 19.134 = 526.13.
    eye = Eyeball(np.array([0.0, 0, 20]))
    look = look_at_pixel(eye, np.array([500 + 1000 * 0.5 / (20 - np.sqrt(0.75)), 400]), CAMERA)
    assert look == pytest.approx([0.5, 0, -np.sqrt(0.75)])
    assert across_and_down(look, eye.ray) == pytest.approx([30, 0])


def test_an_iris_in_the_middle_of_an_eye_at_the_picture_s_edge_still_looks_into_the_lens() -> None:
    eye = Eyeball(np.array([10.0, 0, 20]))
    look = look_at_pixel(eye, np.array([1000.0, 400]), CAMERA)
    assert look == pytest.approx(-np.array([10, 0, 20]) / np.sqrt(500))
    assert across_and_down(look, eye.ray) == pytest.approx([0, 0], abs=1e-9)


def test_degrees_of_the_handbook_case() -> None:
    # calculated, asin(2 / 12): 2 mm off on an eyeball of 12 mm are 9.59 degrees (far away, so seen in parallel).
    eye = Eyeball(np.array([0.0, 0, 1e6]))
    spot = np.array([500 + 1000 * (2 / 12) / 1e6, 400])
    camera = CAMERA
    assert across_and_down(look_at_pixel(eye, spot, camera), eye.ray)[0] == pytest.approx(9.59, abs=0.01)


def test_radius_and_distance() -> None:
    # A ball of radius 1 whose outline is 30 degrees off its centre lies 1 / sin 30 = 2 away.
    eye = eyeball_at(np.array([500.0, 400]), 1000 * np.tan(np.radians(30)), CAMERA)
    assert eye.centre == pytest.approx([0, 0, 2])


def test_there_and_back_for_a_thousand_eyes() -> None:
    rng = np.random.default_rng(1)
    for _ in range(1000):
        eye = Eyeball(np.array([*rng.uniform(-6, 6, 2), rng.uniform(12, 40)]))
        look = turned_to(rng.uniform(-50, 50, 2), eye.ray)
        back = look_at_pixel(eye, pixel_of_look(eye, look, CAMERA), CAMERA)
        assert angle_between(back, look) < 1e-5


def test_angles_agree_with_scipy() -> None:
    rng = np.random.default_rng(2)
    a, b = (v / np.linalg.norm(v, axis=1, keepdims=True) for v in rng.standard_normal((2, 200, 3)))
    own = [Rotation.align_vectors(y[None], x[None])[0].magnitude() for x, y in zip(a, b, strict=True)]
    assert angle_between(a, b) == pytest.approx(np.degrees(own), abs=1e-5)


def test_beside_the_ball_there_is_no_look() -> None:
    eye = Eyeball(np.array([0.0, 0, 20]))
    assert np.isnan(look_at_pixel(eye, np.array([600.0, 400]), CAMERA)).all()


def test_a_ray_has_length_one() -> None:
    assert np.linalg.norm(ray_of(np.array([[0.0, 0], [900, 700]]), CAMERA), axis=1) == pytest.approx([1, 1])
