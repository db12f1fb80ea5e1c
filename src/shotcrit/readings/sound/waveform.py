"""Sound as the readings want it: one channel, 16 kHz, and where speech may be at all."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt
from scipy.signal import resample_poly

from shotcrit.errors import ReadingError
from shotcrit.media.info import Sound
from shotcrit.media.sound import CANCELLED

RATE = 16_000
"""Samples per second; what the acoustic model was trained on."""
_BLOCK = 1 << 20
"""Samples mixed at a time."""
HOP = RATE // 100
"""Samples between two analysis frames: 10 ms, the step of the acoustic model (references.md 12.6)."""
_PEAK = 0.7
"""Of full scale, where speech is put before it is cut to 16 bits; leaves headroom for resampling overshoot (guess)."""

Samples = npt.NDArray[np.float32]


def to_mono16k(sound: Sound) -> Samples:
    """float32 [shape=(n,)] at 16 kHz, one channel; sample 0 is the sound's first. A value that is no number becomes 0.

    Channels that cancel each other (one phase-inverted) are not averaged away: the louder is taken.
    Raises ReadingError for a sample rate of zero.
    """
    if sound.rate <= 0:
        raise ReadingError("a sound needs a sample rate above zero")
    samples = sound.samples
    if samples.ndim != 2 or samples.size == 0:
        return np.zeros(0, np.float32)
    mono = _one_channel(samples)
    if sound.rate == RATE:
        return mono
    step = Fraction(RATE, sound.rate)
    return np.asarray(resample_poly(mono, step.numerator, step.denominator), np.float32)


def _one_channel(samples: Samples) -> Samples:
    """Block by block: a long sound is there once and its one channel once."""
    mono, power = np.empty(len(samples), np.float32), np.zeros(samples.shape[1] + 1)
    for at in range(0, len(samples), _BLOCK):
        part = _finite(samples[at : at + _BLOCK])
        mono[at : at + len(part)] = part.mean(axis=1)
        power += [*(part**2).sum(axis=0, dtype=np.float64), (mono[at : at + len(part)] ** 2).sum(dtype=np.float64)]
    if samples.shape[1] > 1 and power[-1] < power[:-1].max() / CANCELLED:
        return _finite(samples[:, int(power[:-1].argmax())])
    return mono


def _finite(samples: Samples) -> Samples:
    return np.nan_to_num(np.asarray(samples, np.float32), nan=0.0, posinf=0.0, neginf=0.0)


def to_pcm16(samples: Samples) -> bytes:
    """16-bit samples for the recogniser, brought to a fair level (the model does not mind the gain, 16 bits do)."""
    peak = float(np.abs(samples).max()) if len(samples) else 0.0
    gain = _PEAK / peak if peak > 0 else 0.0
    return np.round(samples * gain * 32767).astype("<i2").tobytes()
