"""Steady noise taken out before speech is recognised: the acoustic model was trained on clean speech and hears room tone as speech sounds.

Spectral subtraction with a floor (Boll 1979, IEEE TASSP 27:113-120; Berouti et al. 1979), the noise estimated per bin as a low quantile over time.
Only the recogniser gets what comes out; breaths and levels are measured on the sound as it is.
"""

from __future__ import annotations

import itertools

import cv2
import numpy as np

from shotcrit.readings.sound.waveform import RATE, Samples

WINDOW, HOP = 512, 128
"""Samples."""
QUANTILE = 0.15
QUANTILE_TO_MEAN = 1 / 0.1625
"""The 0.15 quantile of an exponential distribution (power of noise in one bin) is 0.1625 of its mean: -ln(1 - 0.15)."""
OVER, LEAST_GAIN = 1.25, 0.1
"""Times the noise is subtracted, and the amplitude that is left at least (guess, tried on one voice at 10 to 30 dB)."""
STRETCH = 60 * RATE
"""Samples whose noise is estimated together: a minute, so that memory does not grow with the sound (guess)."""
NOISY_DB = 32.0
"""Loud speech over the quiet parts, from which a sound is taken as it is: cleaning costs a little where there is nothing to clean."""


def without_noise(samples: Samples) -> Samples:
    """float32 [shape=(n,)] at 16 kHz, the same length; the very same array where the sound is clean or too short to tell."""
    if len(samples) < RATE // 2 or clearance_db(samples) >= NOISY_DB:
        return samples
    count = max(1, len(samples) // STRETCH)
    edges = [*range(0, count * STRETCH, STRETCH), len(samples)]
    return np.concatenate([_cleaned(samples[a:b]) for a, b in itertools.pairwise(edges)])


def _cleaned(samples: Samples) -> Samples:
    window = np.hanning(WINDOW + 1)[:-1].astype(np.float32)
    hops = -(-len(samples) // HOP) + WINDOW // HOP
    padded = np.pad(samples, (WINDOW, hops * HOP - len(samples)))
    spectrum = np.fft.rfft(np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::HOP] * window, axis=1)
    back = np.fft.irfft(spectrum * _gain(np.abs(spectrum) ** 2), WINDOW, axis=1) * window
    # Overlapping windows, added up and divided by what the windows themselves add up to (weighted overlap-add).
    out = np.zeros(len(padded), np.float32)
    for k in range(WINDOW // HOP):
        part = back[k :: WINDOW // HOP].ravel()
        out[k * HOP : k * HOP + len(part)] += part
    whole = float((window**2).sum()) / HOP
    return np.asarray(out[WINDOW : WINDOW + len(samples)] / whole, np.float32)


def _gain(power: Samples) -> Samples:
    """What is left of each bin's amplitude, [shape=(windows, bins)] as its power."""
    noise = np.quantile(power, QUANTILE, axis=0, keepdims=True) * QUANTILE_TO_MEAN
    smooth = cv2.blur(power, (3, 3), borderType=cv2.BORDER_REFLECT)
    return np.asarray(np.sqrt(np.maximum(1 - OVER * noise / np.maximum(smooth, 1e-20), LEAST_GAIN**2)), np.float32)


def clearance_db(samples: Samples) -> float:
    """Loud over quiet: 0.9 against 0.05 quantile of the power of 20 ms blocks, dB; 0 for a sound shorter than that."""
    block = RATE // 50
    if len(samples) < block:
        return 0.0
    power = (samples[: len(samples) // block * block].reshape(-1, block).astype(np.float64) ** 2).mean(axis=1)
    quiet, loud = np.quantile(power, [0.05, 0.9])
    return float(10 * np.log10(max(loud, 1e-12) / max(quiet, 1e-12)))
