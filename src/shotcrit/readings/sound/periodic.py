"""Is a noise a tone or a voice? Periodicity with the steady background and the resonances taken out.

Plain autocorrelation finds a strong resonance, or the mains hum under a breath, as periodic as a voice. So each frame's power is divided by its own
envelope over 400 Hz, the lines that the background has anyway are levelled, and the autocorrelation of that is looked at.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.smooth import grown, running_mean
from shotcrit.readings.sound.waveform import HOP, RATE, Samples

WINDOW = 800
"""Samples: 50 ms, so that a voice of 80 Hz shows four periods."""
LOWEST_BIN_HZ, HIGHEST_BIN_HZ = 250.0, 3500.0
"""Where harmonics are looked for: above mains hum, below where voices turn to noise."""
ENVELOPE_HZ = 400.0
LINE, LINE_HALF_WIDTH_HZ = 3.0, 40.0
"""A line of the background stands so many times over its envelope; a Hann window of 50 ms smears it by 40 Hz to both sides."""
_LOWEST_PITCH, _HIGHEST_PITCH = 80.0, 500.0
_LEAST_BACKGROUND = 8
"""Frames, under which a background is not known well enough to subtract."""

_BIN_HZ = RATE / (2 * WINDOW)

Floats = npt.NDArray[np.floating]
Frames = npt.NDArray[np.intp]


def tone_strength(samples: Samples, frames: Frames, background: Frames) -> float:
    """0 noise .. 1 a pure tone: the median over `frames` of the height of the autocorrelation's best peak.

    frames, background : numbers of 10 ms analysis frames; background : where only the floor is heard, may be empty
    """
    if not len(frames):
        return 0.0
    lines = np.zeros(WINDOW + 1, np.bool_)
    if len(background) >= _LEAST_BACKGROUND:
        steady = _powers(samples, background).mean(axis=0)[None, :]
        lines = grown((steady / _envelope(steady))[0] > LINE, round(LINE_HALF_WIDTH_HZ / _BIN_HZ))
    return float(np.median(_peaks(_flattened(_powers(samples, frames), lines))))


def _powers(samples: Samples, frames: Frames) -> Floats:
    """Power spectra, [shape=(n, WINDOW + 1)]: zero-padded to twice the window."""
    half = WINDOW // 2
    padded = np.pad(samples[max(0, int(frames.min()) * HOP - half) : int(frames.max()) * HOP + half], (0, WINDOW))
    start = max(0, int(frames.min()) * HOP - half)
    rows = np.stack([padded[max(0, f * HOP - half - start) :][:WINDOW] for f in frames])
    return np.asarray(np.abs(np.fft.rfft(rows * np.hanning(WINDOW), 2 * WINDOW, axis=1)) ** 2)


def _envelope(power: Floats) -> Floats:
    smooth = running_mean(power, round(ENVELOPE_HZ / _BIN_HZ))
    return np.asarray(np.maximum(smooth, 1e-12 * max(float(power.max()), 1e-20)))


def _flattened(power: Floats, lines: npt.NDArray[np.bool_]) -> Floats:
    """Power over its envelope, both reckoned without the lines; lines are set to the envelope."""
    weight = np.where(lines, 0.0, 1.0)[None, :]
    flat = power * weight / (_envelope(power * weight) / np.maximum(_envelope(weight), 1e-3))
    hertz = np.arange(power.shape[1]) * _BIN_HZ
    inside = (hertz >= LOWEST_BIN_HZ) & (hertz <= HIGHEST_BIN_HZ)
    return np.asarray(np.where(inside, np.where(lines, 1.0, np.minimum(flat, 8.0)), 0.0))


def _peaks(flat: Floats) -> Floats:
    auto = np.fft.irfft(flat, axis=1)
    least, most = int(RATE / _HIGHEST_PITCH), int(RATE / _LOWEST_PITCH)
    window = np.hanning(WINDOW)
    own = np.fft.irfft(np.abs(np.fft.rfft(window, 2 * WINDOW)) ** 2)
    ratio = auto[:, least:most] / np.maximum(auto[:, :1], 1e-20) / (own[least:most] / own[0])
    return np.asarray(ratio.max(axis=1))
