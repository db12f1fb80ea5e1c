"""How smooth a movement is, by published measures.

Spectral arc length: Balasubramanian, Melendez-Calderon, Roby-Brami & Burdet (2015), J. NeuroEng. Rehabil. 12:112. Dimensionless jerk: Hogan & Sternad
(2009), J. Mot. Behav. 41:529-534. Minimum jerk: Flash & Hogan (1985), J. Neurosci. 5:1688-1703. Power law: Lacquaniti et al. (1983), Acta Psychol. 54:115-130.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
HIGHEST_HZ = 10.0
"""Of the spectrum that counts (Balasubramanian et al. 2015; 20 in their older paper): half of 24 frames a second is 12."""
FAINTEST = 0.05
"""Of the spectrum at 0 Hz: what lies above the last frequency that is stronger does not count (the same paper)."""
PADDING = 4
"""Powers of two by which the spectrum is made finer (the same paper)."""


def spectral_arc_length(speed: Array, fps: float) -> float:
    """Smoothness of a movement: the length of its speed's spectrum, negative; -1.4 and so for one smooth stroke, less for every stop and shake.

    speed : [shape=(n,)] of one movement from rest to rest, any unit
    nan for a movement of less than four frames or none. Scale and tempo drop out.
    """
    if len(speed) < 4 or not float(np.abs(speed).max()) > 0:
        return float("nan")
    size = 2 ** (int(np.ceil(np.log2(len(speed)))) + PADDING)
    spectrum = np.abs(np.fft.rfft(speed, size))
    hertz = np.fft.rfftfreq(size, 1 / fps)
    spectrum, hertz = spectrum[hertz <= HIGHEST_HZ] / spectrum[0], hertz[hertz <= HIGHEST_HZ]
    last = int(np.flatnonzero(spectrum >= FAINTEST)[-1])
    spectrum, hertz = spectrum[: last + 1], hertz[: last + 1]
    if last < 1:
        return float("nan")
    return -float(np.hypot(np.diff(hertz) / (hertz[-1] - hertz[0]), np.diff(spectrum)).sum())


def log_dimensionless_jerk(speed: Array, fps: float) -> float:
    """-ln(T^3 / v_peak^2 * integral of the squared second derivative of the speed); -5.32 for a minimum-jerk stroke, less for what is less smooth.

    speed : [shape=(n,)] of one movement, sampled at its ends too; nan for less than five frames or none
    """
    peak = float(np.abs(speed).max()) if len(speed) else 0.0
    if len(speed) < 5 or not peak > 0:
        return float("nan")
    jerk = np.diff(speed, 2) * fps**2
    lasts = (len(speed) - 1) / fps
    return -float(np.log(lasts**3 / peak**2 * np.square(jerk).sum() / fps))


def minimum_jerk(share: Array) -> Array:
    """Part of the way after a part of the time: 10 t^3 - 15 t^4 + 6 t^5."""
    t = np.clip(share, 0, 1)
    return np.asarray(10 * t**3 - 15 * t**4 + 6 * t**5)


def power_law_exponent(at: Array, fps: float) -> float:
    """Slope of log speed over log curvature of a way [shape=(n, 2)]; -1/3 where people draw ellipses. nan where it goes straight or stands.

    Noise alone can fake it (Maoz et al. 2006, NIPS), and the slope hangs on the shape (Huh & Sejnowski 2015, PNAS): nothing is judged by it.
    """
    velocity = np.gradient(at, 1 / fps, axis=0, edge_order=2)
    acceleration = np.gradient(velocity, 1 / fps, axis=0, edge_order=2)
    speed = np.linalg.norm(velocity, axis=1)
    cross = np.abs(velocity[:, 0] * acceleration[:, 1] - velocity[:, 1] * acceleration[:, 0])
    good = (speed > 1e-6 * max(float(speed.max(initial=0)), 1e-12)) & (cross > 0)
    good[:2] = good[-2:] = False
    curvature = cross[good] / speed[good] ** 3
    if good.sum() < 8 or float(np.ptp(np.log(curvature))) < 0.1:
        return float("nan")
    return float(np.polyfit(np.log(curvature), np.log(speed[good]), 1)[0])


def trail(lead: Array, loose: Array, most: int) -> tuple[float, float]:
    """(frames by which one series follows another, how alike they are then, -1..1); nan where either stands. Up to `most` frames each way.

    lead, loose : [shape=(n,)] of one length, every value known
    """
    a, b = lead - lead.mean(), loose - loose.mean()
    if len(a) <= 2 * most + 4 or not float(a.std()) > 0 or not float(b.std()) > 0:
        return float("nan"), float("nan")
    middle = slice(most, len(a) - most)
    alike = np.array([_alike(a[middle], b[most + k : len(b) - most + k]) for k in range(-most, most + 1)])
    best = int(alike.argmax())
    if 0 < best < len(alike) - 1:
        left, top, right = alike[best - 1 : best + 2]
        return best - most + 0.5 * (left - right) / min(left - 2 * top + right, -1e-12), float(top)
    return float(best - most), float(alike[best])


def _alike(a: Array, b: Array) -> float:
    a, b = a - a.mean(), b - b.mean()
    size = float(np.linalg.norm(a) * np.linalg.norm(b))
    return float(a @ b) / size if size else 0.0
