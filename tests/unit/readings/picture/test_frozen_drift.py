"""A drift whose steps drown in noise adds up over a stop; a frozen figure's parallax adds up too, but as one. On cells made by hand."""

from __future__ import annotations

import numpy as np
import pytest

from shotcrit.readings.picture.stillness.frozen import drifts
from shotcrit.readings.picture.stillness.grid import COLUMNS, LINES, Cells

FRAMES = 9
"""All dead."""
PATCH = np.zeros((LINES, COLUMNS), np.bool_)
PATCH[2:5, 9:13] = True


def cells(figure_px: np.ndarray, *, camera_px: float = 0.0, noise: float = 0.05, certainty: float = 400.0) -> Cells:
    """The set goes by at `camera_px` a frame; the patch's cells [shape=(9, 16, 2)] at `figure_px` besides. Noise is of one frame and does not hang together."""
    rng = np.random.default_rng(4)
    left = np.zeros((FRAMES, 2, 3), np.float32)
    left[:, 0, 2] = camera_px
    steps = noise * np.diff(rng.standard_normal((FRAMES + 1, LINES, COLUMNS, 2)), axis=0)
    shift = steps + [camera_px, 0] + PATCH[..., None] * figure_px
    flat = np.zeros((FRAMES, LINES, COLUMNS), np.float32)
    sure = np.stack([flat + certainty, flat, flat + certainty], axis=-1)
    size = np.tile(np.float32([480, 270]), (FRAMES, 1))
    zero = np.zeros(FRAMES, np.float32)
    return Cells(zero > 0, np.zeros_like(left), left, zero, zero, size, shift.astype(np.float32), sure, flat, flat, flat)


def all_alike(px: float) -> np.ndarray:
    return np.full((LINES, COLUMNS, 2), [px, 0.0])


def two_cells(px: float) -> np.ndarray:
    some = np.zeros((LINES, COLUMNS, 2))
    some[3, 10:13] = [px, 0.0]
    return some


@pytest.mark.parametrize(
    ("figure", "camera_px", "alive"),
    [
        (all_alike(0.0), 0.0, False),
        (all_alike(0.11), 0.0, True),  # 0.3 px of 1280 a frame
        (two_cells(0.11), 0.0, True),
        (all_alike(0.0), 1.0, False),
        (all_alike(2.0), 1.0, False),  # twice as near as the set: it stands, and goes by faster
        (two_cells(2.0), 1.0, True),
    ],
)
def test_what_adds_up_over_a_stop(figure: np.ndarray, camera_px: float, alive: bool) -> None:
    assert drifts(cells(figure, camera_px=camera_px), PATCH) is alive


def test_cells_without_texture_say_nothing() -> None:
    assert not drifts(cells(all_alike(0.5), certainty=1.0), PATCH)
