"""Movement against hand-worked shifts."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from tests.make.picture_rows import read_pictures
from tests.make.posed import Pose, painted

from shotcrit.readings.picture.stillness.grid import sureness
from shotcrit.readings.picture.stillness.movement import cell_shifts, fit_camera, flow_certainty


def texture(seed: int = 3) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(0, 1, (270, 480)).astype(np.float32)
    smooth = cv2.GaussianBlur(noise, (0, 0), 3)
    return 128 + 40 * smooth / smooth.std()


def shifted(picture: np.ndarray, x: float, y: float) -> np.ndarray:
    """By the Fourier shift theorem: exact for a picture that goes round at its edges."""
    ky, kx = np.fft.fftfreq(picture.shape[0])[:, None], np.fft.fftfreq(picture.shape[1])[None]
    return np.fft.ifft2(np.fft.fft2(picture) * np.exp(-2j * np.pi * (kx * x + ky * y))).real.astype(np.float32)


@pytest.mark.parametrize(("x", "y"), [(0.05, 0.0), (0.2, -0.1), (-0.3, 0.25)])
def test_a_shift_far_under_a_pixel_is_read_to_a_fiftieth(x: float, y: float) -> None:
    # The smooth noise goes round at the edges only nearly, so the outer cells are left out.
    shift, certainty, _, _ = cell_shifts(texture(), shifted(texture(), x, y))
    inner = shift[1:-1, 1:-1]
    assert np.abs(inner - [x, y]).max() < 0.02
    assert (sureness(shift, certainty)[1:-1, 1:-1] > 4).all()


def test_noise_widens_the_error_as_much_as_the_shift_scatters() -> None:
    rng = np.random.default_rng(5)
    noisy = [cv2.GaussianBlur(texture() + rng.normal(0, 6, (270, 480)).astype(np.float32), (0, 0), 1) for _ in range(2)]
    shift, certainty, _, _ = cell_shifts(noisy[0], noisy[1])
    sure = sureness(shift, certainty)
    assert 0.4 < np.median(sure) < 2
    assert (sure > 4).mean() < 0.02


def test_the_camera_is_what_most_cells_share_not_their_mean() -> None:
    size = np.array([480, 270], np.float32)
    shift = np.zeros((9, 16, 2), np.float32)
    shift[...] = 1.0, -0.5
    shift[2:7, 3:8] += 3
    camera = fit_camera(shift, flow_certainty(np.ones((9, 16), np.bool_)), size)
    assert camera @ [240, 135, 1] == pytest.approx([1.0, -0.5], abs=0.01)
    assert camera[:, :2] == pytest.approx(np.zeros((2, 2)), abs=1e-4)


@pytest.mark.parametrize("width", [640, 960])
def test_movement_is_in_pixels_of_the_full_size_frame(width: int) -> None:
    poses = [Pose(camera=(i * 4.0 * width / 960, 0)) for i in range(6)]
    found = read_pictures(painted(poses, (width, width * 9 // 16))).picture
    assert found is not None
    assert np.median(found.movement.values[1:]) == pytest.approx(4.0 * width / 960, rel=0.15)
    assert np.isnan(found.movement.values[0])
