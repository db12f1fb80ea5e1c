"""Smoothness against its closed forms, and against the published definition computed the slow way.

A minimum-jerk stroke of length A in time T (Flash & Hogan 1985): greatest speed 1.875 A / T, integral of its squared jerk 720 A^2 / T^5; with these the
dimensionless jerk of Hogan & Sternad (2009) is 720 / 1.875^2 = 204.8 whatever A and T. An ellipse run through evenly in its angle obeys the two-thirds
power law exactly (Lacquaniti et al. 1983).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from shotcrit.readings.motion.smooth import log_dimensionless_jerk, minimum_jerk, power_law_exponent, spectral_arc_length, trail


def stroke(length: float, seconds: float, fps: float) -> np.ndarray:
    """Speed of a minimum-jerk stroke, in closed form: 30 A / T t^2 (1 - t)^2."""
    t = np.linspace(0, 1, round(seconds * fps) + 1)
    return 30 * length / seconds * t**2 * (1 - t) ** 2


def test_samples_of_a_minimum_jerk_stroke():
    assert minimum_jerk(np.arange(9) / 8) == pytest.approx([0, 0.0161, 0.1035, 0.2752, 0.5, 0.7248, 0.8965, 0.9839, 1], abs=5e-5)
    assert stroke(2.0, 1.0, 240).max() == pytest.approx(1.875 * 2.0, rel=1e-4)


@pytest.mark.parametrize(("length", "seconds"), [(1.0, 1.0), (250.0, 0.6), (0.3, 2.0)])
def test_its_dimensionless_jerk_is_known_in_closed_form(length, seconds):
    assert log_dimensionless_jerk(stroke(length, seconds, 2000), 2000) == pytest.approx(-np.log(204.8), abs=0.01)
    assert log_dimensionless_jerk(stroke(length, seconds, 24), 24) == pytest.approx(-np.log(204.8), abs=0.4)


def slow_arc_length(speed: np.ndarray, fps: float) -> float:
    """The integral of the definition, by scipy's quadrature over the Fourier sum itself."""
    n = np.arange(len(speed))

    def size(hertz: float) -> float:
        return float(np.abs((speed * np.exp(-2j * np.pi * hertz * n / fps)).sum())) / float(speed.sum())

    fine = np.linspace(0, 10, 20_001)
    ends = fine[np.flatnonzero(np.array([size(f) for f in fine]) >= 0.05)[-1]]

    def along(hertz: float) -> float:
        slope = (size(hertz + 1e-4) - size(hertz - 1e-4)) / 2e-4
        return float(np.hypot(1 / ends, slope))

    return -quad(along, 0, ends, limit=400)[0]


@pytest.mark.parametrize("seconds", [0.5, 1.0])
def test_spectral_arc_length_is_the_integral_of_its_definition(seconds):
    for speed in (stroke(1.0, seconds, 24), np.concatenate([stroke(1, 0.5, 24), stroke(0.5, seconds, 24)])):
        assert spectral_arc_length(speed, 24) == pytest.approx(slow_arc_length(speed, 24), abs=0.02)


def test_it_does_not_hang_on_size_or_tempo_and_falls_with_every_stop():
    one = spectral_arc_length(stroke(1.0, 0.6, 240), 240)
    assert one == pytest.approx(-1.4, abs=0.06)
    assert spectral_arc_length(stroke(90.0, 1.2, 240), 240) == pytest.approx(one, abs=0.01)
    rest = np.zeros(48)
    two = np.concatenate([stroke(1, 0.6, 240), rest, stroke(1, 0.6, 240)])
    three = np.concatenate([two, rest, stroke(1, 0.6, 240)])
    assert spectral_arc_length(three, 240) < spectral_arc_length(two, 240) < one - 0.2


@pytest.mark.parametrize(("a", "b"), [(1.0, 2.0), (300.0, 80.0)])
def test_an_ellipse_run_through_evenly_obeys_the_power_law(a, b):
    t = np.arange(0, 4, 1 / 240) * 2 * np.pi * 0.5
    assert power_law_exponent(np.stack([a * np.cos(t), b * np.sin(t)], axis=1), 240) == pytest.approx(-1 / 3, abs=0.01)


def test_a_series_that_follows_another_trails_it_by_its_frames():
    t = np.arange(96) / 24
    for frames in (0.0, 1.0, 2.5, 4.0):
        late, alike = trail(np.sin(2 * np.pi * 0.9 * t), 0.3 * np.sin(2 * np.pi * 0.9 * (t - frames / 24)), 8)
        assert late == pytest.approx(frames, abs=0.1)
        assert alike > 0.98


def test_what_stands_has_no_smoothness():
    assert np.isnan(spectral_arc_length(np.zeros(20), 24))
    assert np.isnan(log_dimensionless_jerk(np.zeros(20), 24))
    assert np.isnan(power_law_exponent(np.zeros((20, 2)), 24))
    assert np.isnan(trail(np.zeros(40), np.ones(40), 6)[0])
