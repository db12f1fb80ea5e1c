"""Sound as the readings want it: one channel, 16 kHz, and where speech may be at all."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt
from scipy.signal import resample_poly

from shotcrit.errors import ReadingError

RATE = 16_000
"""Samples per second; what the acoustic model was trained on."""
_HALF_LENGTH = 10
"""Half length of scipy's resampling filter over the greater of the two factors (scipy.signal.resample_poly)."""
_STRETCH = 1 << 16
"""Samples resampled at a time, or a little fewer."""
HOP = RATE // 100
"""Samples between two analysis frames: 10 ms, the step of the acoustic model (references.md 12.6)."""
_PEAK = 0.7
"""Of full scale, where speech is put before it is cut to 16 bits; leaves headroom for resampling overshoot (guess)."""

Samples = npt.NDArray[np.float32]


class Downsampler:
    """One channel at any rate in, block by block; float32 at 16 kHz out, the same as if the whole had been resampled at once."""

    def __init__(self, rate: int, samples: int) -> None:
        """samples : how many will come, at `rate` a second. Raises ReadingError for a rate of zero."""
        if rate <= 0:
            raise ReadingError("a sound needs a sample rate above zero")
        step = Fraction(RATE, rate)
        self._up, self._down = step.numerator, step.denominator
        reach = -(-_HALF_LENGTH * max(self._up, self._down) // self._up)
        self._stretch = max(1, _STRETCH // self._down) * self._down
        self._margin = -(-reach // self._down) * self._down
        """Samples to each side that an output hangs on, a whole number of steps."""
        self._held = np.zeros(0, np.float32)
        self._before = 0
        self._out = np.zeros(-(-samples * self._up // self._down), np.float32)
        self._made = 0

    def add(self, block: Samples) -> None:
        self._held = np.concatenate([self._held, block])
        while len(self._held) >= self._before + self._stretch + self._margin:
            self._emit(self._stretch, self._before + self._stretch + self._margin)

    def done(self) -> Samples:
        """All of it; sample 0 is the first."""
        if len(self._held) > self._before:
            self._emit(len(self._held) - self._before, len(self._held))
        return self._out[: self._made]

    def _emit(self, count: int, stop: int) -> None:
        """Resample the next `count` samples, with what lies around them."""
        if self._up == self._down:
            made = self._held[self._before : self._before + count]
        else:
            whole = resample_poly(self._held[:stop], self._up, self._down)
            first = self._before * self._up // self._down
            made = whole[first : first - (-count * self._up // self._down)]
        self._out[self._made : self._made + len(made)] = made[: len(self._out) - self._made]
        self._made = min(self._made + len(made), len(self._out))
        kept = max(0, self._before + count - self._margin)
        self._held, self._before = self._held[kept:], self._before + count - kept


def to_pcm16(samples: Samples) -> bytes:
    """16-bit samples for the recogniser, brought to a fair level (the model does not mind the gain, 16 bits do)."""
    peak = float(np.abs(samples).max()) if len(samples) else 0.0
    gain = _PEAK / peak if peak > 0 else 0.0
    return np.round(samples * gain * 32767).astype("<i2").tobytes()
