"""Colour differences against the published pairs, contrast against worked values of its definition, both to their last digit.

Pairs: Sharma, Wu & Dalal (2005), Color Res. Appl. 30:21-30, table 1. Contrast: W3C, WCAG 2.1, contrast ratio and relative luminance.
"""

from __future__ import annotations

import numpy as np
import pytest

from shotcrit.geometry.colour import contrast, lab, unlike

PAIRS = (
    (50.0, 2.6772, -79.7751, 50.0, 0.0, -82.7485, 2.0425),
    (50.0, 3.1571, -77.2803, 50.0, 0.0, -82.7485, 2.8615),
    (50.0, 2.8361, -74.02, 50.0, 0.0, -82.7485, 3.4412),
    (50.0, -1.3802, -84.2814, 50.0, 0.0, -82.7485, 1.0),
    (50.0, -1.1848, -84.8006, 50.0, 0.0, -82.7485, 1.0),
    (50.0, -0.9009, -85.5211, 50.0, 0.0, -82.7485, 1.0),
    (50.0, 0.0, 0.0, 50.0, -1.0, 2.0, 2.3669),
    (50.0, -1.0, 2.0, 50.0, 0.0, 0.0, 2.3669),
    (50.0, 2.49, -0.001, 50.0, -2.49, 0.0009, 7.1792),
    (50.0, 2.49, -0.001, 50.0, -2.49, 0.001, 7.1792),
    (50.0, 2.49, -0.001, 50.0, -2.49, 0.0011, 7.2195),
    (50.0, 2.49, -0.001, 50.0, -2.49, 0.0012, 7.2195),
    (50.0, -0.001, 2.49, 50.0, 0.0009, -2.49, 4.8045),
    (50.0, -0.001, 2.49, 50.0, 0.001, -2.49, 4.8045),
    (50.0, -0.001, 2.49, 50.0, 0.0011, -2.49, 4.7461),
    (50.0, 2.5, 0.0, 50.0, 0.0, -2.5, 4.3065),
    (50.0, 2.5, 0.0, 73.0, 25.0, -18.0, 27.1492),
    (50.0, 2.5, 0.0, 61.0, -5.0, 29.0, 22.8977),
    (50.0, 2.5, 0.0, 56.0, -27.0, -3.0, 31.903),
    (50.0, 2.5, 0.0, 58.0, 24.0, 15.0, 19.4535),
    (50.0, 2.5, 0.0, 50.0, 3.1736, 0.5854, 1.0),
    (50.0, 2.5, 0.0, 50.0, 3.2972, 0.0, 1.0),
    (50.0, 2.5, 0.0, 50.0, 1.8634, 0.5757, 1.0),
    (50.0, 2.5, 0.0, 50.0, 3.2592, 0.335, 1.0),
    (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
    (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.263),
    (61.2901, 3.7196, -5.3901, 61.4292, 2.248, -4.962, 1.8731),
    (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
    (22.7233, 20.0904, -46.694, 23.0331, 14.973, -42.5619, 2.0373),
    (36.4612, 47.858, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
    (90.8027, -2.0831, 1.441, 91.1528, -1.6435, 0.0447, 1.4441),
    (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
    (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
    (2.0776, 0.0795, -1.135, 0.9033, -0.0636, -0.5514, 0.9082),
)  # fmt: skip
"""L a b of one, L a b of the other, how unlike they are."""
WORKED = (
    ("000000", "ffffff", 21.0), ("777777", "ffffff", 4.4781), ("767676", "ffffff", 4.5422), ("595959", "ffffff", 7.0047), ("949494", "ffffff", 3.0335),
    ("ff0000", "ffffff", 3.9985), ("0000ff", "ffffff", 8.5925), ("00ff00", "ffffff", 1.3722), ("808080", "000000", 5.3172), ("ff0000", "0000ff", 2.1489),
)  # fmt: skip


def _rgb(text: str) -> np.ndarray:
    return np.frombuffer(bytes.fromhex(text), np.uint8)


@pytest.mark.parametrize("row", PAIRS, ids=[str(i + 1) for i in range(len(PAIRS))])
def test_the_published_pairs_to_four_decimals_and_both_ways_round(row):
    one, other, wanted = np.array(row[:3]), np.array(row[3:6]), row[6]
    assert float(unlike(one, other)) == pytest.approx(wanted, abs=5e-5)
    assert float(unlike(other, one)) == pytest.approx(wanted, abs=5e-5)


def test_a_whole_field_at_once_is_the_pairs_one_by_one():
    rows = np.array(PAIRS)
    assert unlike(rows[:, :3], rows[:, 3:6]) == pytest.approx(rows[:, 6], abs=5e-5)


@pytest.mark.parametrize(("one", "other", "wanted"), WORKED)
def test_contrast_is_what_its_definition_gives(one, other, wanted):
    assert float(contrast(_rgb(one), _rgb(other))) == pytest.approx(wanted, abs=1e-4)
    assert float(contrast(_rgb(other), _rgb(one))) == pytest.approx(wanted, abs=1e-4)


def test_greys_have_no_colour_and_white_is_the_lightest():
    assert lab(_rgb("ffffff")) == pytest.approx([100, 0, 0], abs=0.01)
    assert lab(_rgb("000000")) == pytest.approx([0, 0, 0], abs=1e-6)
    assert lab(_rgb("777777"))[1:] == pytest.approx([0, 0], abs=0.01)
