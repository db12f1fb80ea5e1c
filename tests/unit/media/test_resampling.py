"""Sound brought to another rate: held against scipy's polyphase resampler, and against closed forms."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from scipy.signal import resample_poly

from shotcrit.errors import MediaError
from shotcrit.media.resampling import Resampler

TO = 16_000


def through(samples: np.ndarray, rate: int, block: int) -> np.ndarray:
    resampler = Resampler(rate, TO)
    for at in range(0, len(samples), block):
        resampler.add(samples[at : at + block])
    return resampler.done()


def tones(rate: int, length_s: float) -> np.ndarray:
    t = np.arange(round(rate * length_s)) / rate
    return sum(a * np.sin(2 * np.pi * f * t) for a, f in ((0.3, 440), (0.2, 2500), (0.1, 3500))).astype(np.float32)


@pytest.mark.parametrize("rate", [8000, 11_025, 22_050, 44_100, 48_000, 96_000])
def test_it_is_what_scipy_gives(rate: int) -> None:
    samples, step = tones(rate, 1.7), Fraction(TO, rate)
    wanted, got = resample_poly(samples, step.numerator, step.denominator), through(samples, rate, 1024)
    assert abs(len(got) - len(wanted)) <= 1
    inner = slice(400, len(wanted) - 400)
    assert np.abs(got[inner] - wanted[inner]).max() < 0.005  # both filters cut off a little differently


def test_blocks_make_no_difference() -> None:
    samples = tones(48_000, 0.5)
    whole = through(samples, 48_000, len(samples))
    for block in (1, 333, 1024):
        np.testing.assert_allclose(through(samples, 48_000, block), whole, atol=1e-6)


def test_what_is_at_the_rate_is_left_alone() -> None:
    samples = tones(TO, 0.1)
    assert np.array_equal(through(samples, TO, 100), samples)
    assert len(through(samples[:0], TO, 100)) == len(through(samples[:0], 48_000, 100)) == 0


def test_nothing_that_folds_down_is_left() -> None:
    t = np.arange(48_000) / 48_000
    high = np.sin(2 * np.pi * 12_000 * t).astype(np.float32)  # above half of 16 kHz
    assert np.abs(through(high, 48_000, 1024)[200:-200]).max() < 0.01


def test_a_rate_of_zero_is_refused() -> None:
    with pytest.raises(MediaError, match="sample rate above zero"):
        Resampler(0, TO)
