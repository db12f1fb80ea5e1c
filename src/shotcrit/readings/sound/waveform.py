"""Sound as the readings want it: one channel, 16 kHz, and where speech may be at all."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

RATE = 16_000
"""Samples per second; what the acoustic model was trained on."""
HOP = RATE // 100
"""Samples between two analysis frames: 10 ms, the step of the acoustic model."""
_PEAK = 0.7
"""Of full scale, where speech is put before it is cut to 16 bits; leaves headroom for resampling overshoot (guess)."""

_LOUD_S, _LOUD_DB, _MOST_GAIN_DB = 0.3, -20.0, 60.0
"""Seconds over which the loudest stretch is measured, where it is put, dB re full scale, and the most that a sound is raised by (guess): speech with its
peaks at -6 dB lies there anyway."""

Samples = npt.NDArray[np.float32]


def levelled(samples: Samples) -> Samples:
    """The sound raised, never lowered, until its loudest stretch lies where well recorded speech does: what is heard must not hang on the fader.

    Raised in place, and measured a stretch at a time: ten minutes need no second copy.
    """
    size = round(_LOUD_S * RATE)
    starts = range(0, max(len(samples) - size, 0) + 1, size)
    power = max((float(np.square(samples[at : at + size], dtype=np.float64).mean()) for at in starts if len(samples)), default=0.0)
    gain = min(10 ** (_LOUD_DB / 20) / np.sqrt(power), 10 ** (_MOST_GAIN_DB / 20)) if power > 0 else 1.0
    return samples if gain <= 1 else np.multiply(samples, np.float32(gain), out=samples)


def to_pcm16(samples: Samples) -> bytes:
    """16-bit samples for the recogniser, brought to a fair level (the model does not mind the gain, 16 bits do)."""
    peak = float(np.abs(samples).max()) if len(samples) else 0.0
    gain = _PEAK / peak if peak > 0 else 0.0
    return np.round(samples * gain * 32767).astype("<i2").tobytes()
