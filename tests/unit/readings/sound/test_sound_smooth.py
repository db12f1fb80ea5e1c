"""Smoothing along a line of values gives what scipy.ndimage gives."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from shotcrit.readings.sound.smooth import closed, grown, median_of_3, opened, running_mean

RANDOM = np.random.default_rng(4)


@pytest.mark.parametrize("size", [3, 4, 5, 30])
@pytest.mark.parametrize("length", [1, 2, 7, 100])
def test_running_mean(size: int, length: int) -> None:
    line = RANDOM.random(length).astype(np.float32)
    np.testing.assert_allclose(running_mean(line, size), ndimage.uniform_filter1d(line, size, mode="nearest"), atol=1e-5)
    table = RANDOM.random((length, 12))
    np.testing.assert_allclose(running_mean(table, size, axis=0), ndimage.uniform_filter1d(table, size, axis=0, mode="nearest"), atol=1e-5)
    np.testing.assert_allclose(running_mean(table, size), ndimage.uniform_filter1d(table, size, mode="nearest"), atol=1e-5)


@pytest.mark.parametrize("length", [1, 2, 3, 50])
def test_median(length: int) -> None:
    line = RANDOM.random(length).astype(np.float32)
    np.testing.assert_array_equal(median_of_3(line), ndimage.median_filter(line, 3))


@pytest.mark.parametrize("size", [1, 2, 3, 4, 7])
@pytest.mark.parametrize("length", [1, 3, 200])
def test_closings(size: int, length: int) -> None:
    for share in (0.3, 0.5, 0.8):
        flags = RANDOM.random(length) < share
        np.testing.assert_array_equal(closed(flags, size), ndimage.binary_closing(flags, np.ones(size)))
        np.testing.assert_array_equal(opened(flags, size), ndimage.binary_opening(flags, np.ones(size)))
        np.testing.assert_array_equal(grown(flags, size), ndimage.binary_dilation(flags, iterations=size))


def test_nothing_stays_nothing() -> None:
    none = np.zeros(0, np.float32)
    assert len(running_mean(none, 3)) == len(median_of_3(none)) == len(closed(none > 0, 3)) == 0
