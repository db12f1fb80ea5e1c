"""Steady noise taken out before speech is recognised: the acoustic model was trained on clean speech and hears room tone as speech sounds.

Spectral subtraction with a floor (Boll 1979, IEEE TASSP 27:113-120; Berouti et al. 1979), the noise estimated per bin as a low quantile over time.
Only the recogniser gets what comes out; breaths and levels are measured on the sound as it is.
"""

from __future__ import annotations

import itertools

import numpy as np
from scipy.ndimage import uniform_filter
from scipy.signal import istft, stft

from shotcrit.readings.sound.waveform import RATE, Samples

WINDOW, OVERLAP = 512, 384
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
    if len(samples) < RATE // 2 or _clearance_db(samples) >= NOISY_DB:
        return samples
    count = max(1, len(samples) // STRETCH)
    edges = [*range(0, count * STRETCH, STRETCH), len(samples)]
    return np.concatenate([_cleaned(samples[a:b]) for a, b in itertools.pairwise(edges)])


def _cleaned(samples: Samples) -> Samples:
    _, _, spectrum = stft(samples, RATE, nperseg=WINDOW, noverlap=OVERLAP)
    power = np.abs(spectrum) ** 2
    noise = np.quantile(power, QUANTILE, axis=1, keepdims=True) * QUANTILE_TO_MEAN
    smooth = uniform_filter(power, (3, 3))
    gain = np.sqrt(np.maximum(1 - OVER * noise / np.maximum(smooth, 1e-20), LEAST_GAIN**2))
    _, cleaned = istft(spectrum * gain, RATE, nperseg=WINDOW, noverlap=OVERLAP)
    return np.asarray(np.pad(cleaned, (0, max(0, len(samples) - len(cleaned))))[: len(samples)], np.float32)


def _clearance_db(samples: Samples) -> float:
    """Loud over quiet: 0.9 against 0.05 quantile of the power of 20 ms blocks, dB."""
    block = RATE // 50
    power = (samples[: len(samples) // block * block].reshape(-1, block).astype(np.float64) ** 2).mean(axis=1)
    quiet, loud = np.quantile(power, [0.05, 0.9])
    return float(10 * np.log10(max(loud, 1e-12) / max(quiet, 1e-12)))
