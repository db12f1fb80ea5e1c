"""What could have happened on one frame: each event is told from the others, whatever smooth movement lies under it."""

from __future__ import annotations

import numpy as np
import pytest

from shotcrit.readings.motion.local import FRAMES, HALF, OFF_ERROR, oddities

T = np.arange(25.0)
SMOOTH = np.stack([0.02 * T**3 - 0.4 * T**2, 5 * T, 3 - T], axis=1)
AT = 12


def test_an_excursion_has_its_size_on_any_cubic():
    way = SMOOTH.copy()
    way[AT] += (3, -4, 0)
    odd = oddities(way)
    assert odd.off[AT] == pytest.approx([3, -4, 0], abs=1e-8)
    assert odd.off_rest[AT] < 1e-6
    assert odd.other_rest[AT] > 0.5


def test_a_corner_has_its_size():
    way = SMOOTH.copy()
    way[AT:] += np.outer(np.arange(len(T) - AT), (2, 0, 1))
    odd = oddities(way)
    assert odd.bent[AT] == pytest.approx([2, 0, 1], abs=1e-8)
    assert odd.bent_rest[AT] < 1e-6


@pytest.mark.parametrize("event", ["corner", "jump"])
def test_what_is_no_excursion_is_explained_better_by_what_it_is(event):
    way = np.zeros((25, 2))
    way[AT:] += np.arange(25 - AT)[:, None] * 5 if event == "corner" else 9
    odd = oddities(way)
    near = slice(AT - 1, AT + 2)
    assert (odd.other_rest[near] <= odd.off_rest[near] + 1e-9).all()


def test_noise_of_one_px_gives_an_excursions_error():
    noise = np.random.default_rng(1).normal(size=(4000, 1))
    assert float(np.nanstd(oddities(noise).off)) == pytest.approx(OFF_ERROR, rel=0.05)


def test_ends_and_short_ways_are_not_known():
    odd = oddities(SMOOTH)
    assert np.isnan(odd.off[:HALF]).all()
    assert np.isnan(odd.off[-HALF:]).all()
    assert np.isfinite(odd.off[HALF:-HALF]).all()
    assert np.isnan(oddities(SMOOTH[: FRAMES - 1]).off_rest).all()
