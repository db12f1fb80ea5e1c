"""When frames are shown, as arrays."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock


def frame_starts(clock: FrameClock) -> npt.NDArray[np.float64]:
    """Seconds at which each frame starts, float64 [shape=(n_frames,)]."""
    return np.array(clock.starts_s, np.float64)
