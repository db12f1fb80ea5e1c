"""What the acoustic model was trained to see: mel cepstra with their first and second differences, in step with SphinxBase's front end."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.smooth import grown
from shotcrit.readings.sound.waveform import HOP, RATE, Samples

Floats = npt.NDArray[np.float32]

WINDOW, SPECTRUM = 410, 512
"""Samples: 25.625 ms, and the transform's length (SphinxBase's defaults)."""
EMPHASIS = 0.97
FILTERS, LOWEST_HZ, HIGHEST_HZ = 25, 130.0, 6800.0
CEPSTRA, LIFTER = 13, 22
"""feat.params of the model."""
LEAST_POWER = 20.0
"""Of a mel band, 16-bit steps squared: about what dither has, which the model was trained on and digital silence has not (guess)."""
LOUD_DB, AROUND_S = 30.0, 0.2
"""Speech for the mean: rows so near to the loudest ones, and what lies so far around them (guess). The mean of a whole sound would hang on how much silence
surrounds the speech, and with it all that is heard."""
_BLOCK = 2000
"""Rows transformed at once: 20 s, so that memory does not grow with the sound."""


def cepstra(samples: Samples) -> Floats:
    """float32 [shape=(n, 13)] of samples [float32, 16 kHz]; row i is centred on sample 160 i. Not yet freed of their mean."""
    count = len(samples) // HOP + 1
    return np.concatenate([_cepstra(samples, at, min(_BLOCK, count - at)) for at in range(0, count, _BLOCK)])


def _cepstra(samples: Samples, first: int, count: int) -> Floats:
    """Rows first .. first + count - 1; only their samples are copied. Before the sound and after it there is silence."""
    start = first * HOP - WINDOW // 2
    stop = start + (count - 1) * HOP + WINDOW
    part = np.pad(samples[max(0, start - 1) : stop], (max(0, 1 - start), max(0, stop - len(samples)))) * np.float32(32768)
    rows = np.lib.stride_tricks.sliding_window_view(part[1:] - np.float32(EMPHASIS) * part[:-1], WINDOW)[::HOP]
    power = np.abs(np.fft.rfft(rows * np.hamming(WINDOW).astype(np.float32), SPECTRUM, axis=1)) ** 2
    return np.asarray(np.log(np.maximum(power @ _filters().T, LEAST_POWER)) @ _cosines().T, np.float32)


def without_mean(cepstrum: Floats) -> Floats:
    """The same rows less the mean of those that are speech, or near it: what the microphone and the room add to all of them."""
    if not len(cepstrum):
        return cepstrum
    loudness = cepstrum[:, 0] / np.sqrt(FILTERS) * 10 / np.log(10)
    near = grown(loudness > np.quantile(loudness, 0.98) - LOUD_DB, round(AROUND_S * RATE / HOP))
    return cepstrum - cepstrum[near].mean(axis=0)


def observed(cepstrum: Floats) -> Floats:
    """float32 [shape=(n, 3, 13)]: cepstra, differences over 40 ms, differences of those over 20 ms; ends stand beside themselves."""
    padded = np.pad(cepstrum, ((3, 3), (0, 0)), mode="edge")
    at = {k: padded[3 + k : 3 + k + len(cepstrum)] for k in range(-3, 4)}
    return np.stack([cepstrum, at[2] - at[-2], (at[3] - at[-1]) - (at[1] - at[-3])], axis=1)


@lru_cache(maxsize=1)
def _filters() -> Floats:
    """float32 [shape=(25, 257)] triangles of unit area, their corners on the transform's bins."""
    lowest, highest = (2595 * float(np.log10(1 + hertz / 700)) for hertz in (LOWEST_HZ, HIGHEST_HZ))
    mel = np.linspace(lowest, highest, FILTERS + 2)
    bin_hz = RATE / SPECTRUM
    corners = np.round(700 * (10 ** (mel / 2595) - 1) / bin_hz) * bin_hz
    hertz = np.arange(SPECTRUM // 2 + 1) * bin_hz
    left, top, right = corners[:-2, None], corners[1:-1, None], corners[2:, None]
    rising, falling = (hertz - left) / (top - left), (right - hertz) / (right - top)
    return np.asarray(np.maximum(np.minimum(rising, falling), 0) * 2 / (right - left), np.float32)


@lru_cache(maxsize=1)
def _cosines() -> Floats:
    """float32 [shape=(13, 25)] orthonormal cosine transform with its lifter."""
    index = np.arange(CEPSTRA)[:, None]
    table = np.cos(np.pi * index * (np.arange(FILTERS)[None, :] + 0.5) / FILTERS) * np.sqrt(2 / FILTERS)
    table[0] = np.sqrt(1 / FILTERS)
    return np.asarray(table * (1 + LIFTER / 2 * np.sin(index * np.pi / LIFTER)), np.float32)
