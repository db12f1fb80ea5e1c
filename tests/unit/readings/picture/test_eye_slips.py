"""Where a person placed an eyeball and the head's movement takes it elsewhere: the placing counts, and between two of them it is said how sure that is."""

from __future__ import annotations

import numpy as np
import pytest

from shotcrit.readings.picture.eyes.eye import SUNK_ERROR, EyePlan

RADIUS = 16.0


def plan(slips: dict[int, tuple[float, float]]) -> EyePlan:
    return EyePlan("left", np.zeros(2), RADIUS, 0.0, None, slips={frame: np.array(slip) for frame, slip in slips.items()})


@pytest.mark.parametrize(
    ("frame", "by", "unsure"), [(0, 0.0, 0.0), (5, -5.0, 0.5), (10, -10.0, 0.0), (15, -10.0, 0.25), (20, -10.0, 0.5), (40, -10.0, 0.5)]
)
def test_the_correction_goes_evenly_from_one_placing_to_the_next(frame: int, by: float, unsure: float) -> None:
    """By hand: 10 px between two placings ten frames apart; halfway half of it may be wrong, beyond the last as much from as far on."""
    at, error = plan({0: (0.0, 0.0), 10: (0.0, -10.0)}).slip(frame)
    np.testing.assert_allclose(at, [0.0, by])
    assert error == pytest.approx(unsure * np.sqrt(10.0**2 - (SUNK_ERROR * RADIUS) ** 2))


def test_what_a_guessed_depth_explains_is_no_further_doubt() -> None:
    at, error = plan({0: (0.0, 0.0), 10: (0.0, 2.0)}).slip(5)
    np.testing.assert_allclose(at, [0.0, 1.0])
    assert error == 0.0


def test_an_eye_placed_once_goes_where_the_head_goes() -> None:
    for one in (plan({}), plan({3: (0.0, 0.0)})):
        at, error = one.slip(9)
        np.testing.assert_allclose(at, [0.0, 0.0])
        assert error == 0.0
