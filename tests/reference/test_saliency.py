"""What draws the eye against others: OpenCV's own spectral residual, and the colour differences of CIELAB by its definition."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import cv2
import numpy as np
import pytest
from tests.make.films import texture
from tests.make.packages import pypi_wheel

from shotcrit.readings.picture.pull import colour_contrast, spectral_residual

THEIRS = """
import json, sys
import cv2, numpy as np
pictures = np.array(json.load(sys.stdin), np.uint8)
saliency = cv2.saliency.StaticSaliencySpectralResidual_create()
json.dump([saliency.computeSaliency(cv2.merge([one] * 3))[1].tolist() for one in pictures], sys.stdout)
"""
"""Runs in a process of its own, since the package brings a second OpenCV."""


def pictures() -> np.ndarray:
    """Soft texture with a disc, a bar, and one with nothing on it, uint8 [shape=(3, 64, 64)]."""
    ground = [cv2.cvtColor(texture(64, 64, seed=seed), cv2.COLOR_RGB2GRAY) for seed in (1, 2, 3)]
    cv2.circle(ground[0], (44, 20), 6, 255, -1)
    cv2.rectangle(ground[1], (10, 40), (18, 60), 0, -1)
    return np.array(ground)


def test_the_spectral_residual_is_that_of_the_library_that_its_readers_use():
    """opencv-contrib-python-headless (PyPI), module saliency: it smooths by 5 x 5 px with sigma 8 and squares after that; so is done here to ours."""
    packages = pypi_wheel("opencv-contrib-python-headless")
    ran = subprocess.run(
        [sys.executable, "-c", THEIRS], input=json.dumps(pictures().tolist()), env={**os.environ, "PYTHONPATH": str(packages)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    theirs = np.array(json.loads(ran.stdout))
    for ours, other in zip(spectral_residual(pictures()), theirs, strict=True):
        smooth = cv2.GaussianBlur(np.sqrt(ours), (5, 5), 8) ** 2
        assert np.corrcoef(smooth.ravel(), other.ravel())[0, 1] > 0.99


@pytest.mark.parametrize("seed", [1, 2])
def test_colour_contrast_is_the_distance_from_the_mean_in_cielab(seed):
    """CIELAB as CIE 15:2004 defines it (f with 6/29, white D65: 0.95047, 1, 1.08883), from linear sRGB by IEC 61966-2-1; from memory."""
    light = np.random.default_rng(seed).uniform(0, 1, (1, 9, 16, 3))
    xyz = light @ np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]).T / (0.95047, 1.0, 1.08883)
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    lab = np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)
    wanted = np.linalg.norm(lab - lab.mean(axis=(1, 2), keepdims=True), axis=-1)
    assert colour_contrast(light) == pytest.approx(wanted, abs=0.5)
