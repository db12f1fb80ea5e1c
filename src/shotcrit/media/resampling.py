"""One channel of sound brought to another rate, block by block, by FFmpeg's resampler."""

from __future__ import annotations

from array import array
from fractions import Fraction

import av
import numpy as np

from shotcrit.errors import MediaError
from shotcrit.media.mixing import Floats


class Resampler:
    """One channel in, float32 [shape=(n,)] out, a sample at the same time as before; the first stays the first."""

    def __init__(self, rate: int, to: int) -> None:
        """Both in samples per second. Raises MediaError for a rate of zero."""
        if rate <= 0:
            raise MediaError("a sound needs a sample rate above zero; export it again")
        self._rate, self._fed = rate, 0
        self._through = None if rate == to else av.AudioResampler("flt", "mono", to)
        self._out = array("f")  # grows in place, where a list of blocks would be held twice while it is joined

    def add(self, block: Floats) -> None:
        if self._through is None:
            self._out.frombytes(np.asarray(block, np.float32).tobytes())
        elif len(block):
            frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(block[None], np.float32), format="flt", layout="mono")
            frame.sample_rate, frame.time_base, frame.pts = self._rate, Fraction(1, self._rate), self._fed
            self._fed += len(block)
            self._keep(self._through.resample(frame))

    def done(self) -> Floats:
        """All of it; nothing can be added after that."""
        if self._through is not None and self._fed:
            self._keep(self._through.resample(None))
        return np.frombuffer(self._out, np.float32)

    def _keep(self, frames: list[av.AudioFrame]) -> None:
        for frame in frames:
            self._out.frombytes(frame.to_ndarray()[0].tobytes())
