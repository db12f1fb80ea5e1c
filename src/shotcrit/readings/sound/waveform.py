"""Sound as the readings want it: one channel, 16 kHz, and where speech may be at all."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

RATE = 16_000
"""Samples per second; what the acoustic model was trained on."""
HOP = RATE // 100
"""Samples between two analysis frames: 10 ms, the step of the acoustic model (references.md 12.6)."""
_PEAK = 0.7
"""Of full scale, where speech is put before it is cut to 16 bits; leaves headroom for resampling overshoot (guess)."""

Samples = npt.NDArray[np.float32]


def to_pcm16(samples: Samples) -> bytes:
    """16-bit samples for the recogniser, brought to a fair level (the model does not mind the gain, 16 bits do)."""
    peak = float(np.abs(samples).max()) if len(samples) else 0.0
    gain = _PEAK / peak if peak > 0 else 0.0
    return np.round(samples * gain * 32767).astype("<i2").tobytes()
