"""One take as lining up wants it: a glance at each picture, and its sound."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.media import Movie
from shotcrit.media.resampling import Resampler

Floats = npt.NDArray[np.float32]
WAVE_RATE = 8000
"""Samples a second of the wave that takes are compared by: telephone speech, whose sense and accents it keeps (ITU-T G.711)."""


@dataclass(frozen=True)
class Side:
    """One of two takes.

    glances : float32 [shape=(n_frames, HIGH, WIDE)], luma 0..255 (readings/picture/glance.py); None for a sound alone
    wave : float32 [shape=(samples,)] at WAVE_RATE; None where there is no sound
    begins_s : time of its first sample, seconds from the first picture
    name : as people call it, for sentences
    """

    clock: FrameClock
    glances: Floats | None
    wave: Floats | None = None
    begins_s: float = 0.0
    name: str = "the take"

    def __len__(self) -> int:
        return len(self.clock)


def wave_of(movie: Movie) -> Floats | None:
    """float32 [shape=(samples,)] at WAVE_RATE, one channel; None where the movie has no sound."""
    sound = movie.mixed_sound()
    if sound is None:
        return None
    down = Resampler(sound.rate, WAVE_RATE)
    for block in sound.blocks():
        down.add(block)
    return down.done()


def side_of(movie: Movie, glances: Floats | None) -> Side:
    """A movie as one of two takes. Reads its sound; glances : of its pictures, from the pass that measured it."""
    begins = float(movie.info.sound.offset_s) if movie.info.sound else 0.0
    return Side(movie.clock, glances, wave_of(movie), begins, movie.info.name)
