"""The last frames before a loss, on which a mark rode on what covered it, are taken back; a steady path is not touched."""

from __future__ import annotations

import numpy as np
import pytest

from shotcrit.readings.picture.marks.bolt import LAST, forget_bolts

FRAMES = 40


def walked(lost_from: int, jump: float = 0.0, bolts: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """A slow walk from frame 0, lost from `lost_from` on; over its last `bolts` frames it goes off by `jump` px a frame."""
    xy = np.stack([0.5 * np.arange(FRAMES), np.sin(np.arange(FRAMES) / 5)], axis=1).astype(np.float32)
    xy[lost_from - bolts : lost_from, 1] += jump * np.arange(1, bolts + 1)
    error = np.full(FRAMES, 0.1, np.float32)
    xy[lost_from:], error[lost_from:] = np.nan, np.nan
    return xy, error


@pytest.mark.parametrize("bolts", range(1, LAST + 1))
def test_frames_on_the_occluder_are_taken_back(bolts: int) -> None:
    xy, error = walked(25, jump=6.0, bolts=bolts)
    forget_bolts(xy, error, 0, 1)
    assert np.isfinite(error[: 25 - bolts]).all()
    assert np.isnan(error[25 - bolts :]).all()
    assert np.isnan(xy[25 - bolts :]).all()


def test_backwards_in_time_as_well() -> None:
    xy, error = walked(25, jump=6.0)
    xy, error = xy[::-1].copy(), error[::-1].copy()
    forget_bolts(xy, error, FRAMES - 1, -1)
    assert np.isnan(error[: FRAMES - 22]).all()
    assert np.isfinite(error[FRAMES - 22 :]).all()


def test_a_steady_path_into_a_loss_stays() -> None:
    xy, error = walked(25)
    forget_bolts(xy, error, 0, 1)
    assert np.isfinite(error[:25]).all()


def test_a_mark_that_shakes_all_along_stays() -> None:
    xy, error = walked(25)
    xy[:25] += np.random.default_rng(2).normal(0, 3, (25, 2)).astype(np.float32)
    forget_bolts(xy, error, 0, 1)
    assert np.isfinite(error[:25]).all()


def test_a_path_too_short_to_judge_stays() -> None:
    xy, error = walked(5, jump=6.0)
    forget_bolts(xy, error, 0, 1)
    assert np.isfinite(error[:5]).all()
