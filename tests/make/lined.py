"""Two takes lined up, known beforehand."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from shotcrit.crit.records import Take
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.takes.frame_map import FrameMap, inverse, stretches_of


def later_by(frames: int, old: Take, new: Take, *, sure: float = 0.9) -> LinedUp:
    """Everything of the old take lies `frames` later on the new one; what of the old cast is on the new pictures is not known."""
    old_of = np.arange(new.frames, dtype=np.int64) - frames
    old_of[(old_of < 0) | (old_of >= old.frames)] = -1
    stretches = stretches_of(old_of, old.frames, Fraction(1))
    sure_of = np.full(new.frames, sure, np.float32)
    return LinedUp(FrameMap(old_of, inverse(old_of, old.frames), sure_of, stretches, by_sound=1.0, same_picture=1.0))
