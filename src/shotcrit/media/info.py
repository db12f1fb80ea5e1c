"""What is known about a movie, a picture sequence or a sound before anything is measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shotcrit.media.mixing import ChannelPower, Floats, MixedSound, finite, one_channel

_BLOCK = 1 << 16
"""Samples mixed at a time."""


@dataclass(frozen=True)
class SoundInfo:
    """rate in samples per second; offset_s: time of the first sample, in seconds from the first picture; negative = starts earlier."""

    rate: int
    channels: int
    offset_s: Fraction
    duration_s: Fraction


@dataclass(frozen=True)
class MovieInfo:
    """One medium. For a sound alone: width and height None, frames counted at `rate`.

    frames : pictures that could be decoded
    rate : nominal frames per second, exact
    width, height : of the picture as it should be seen: upright, square pixels
    first_frame : the number shown for the first picture
    ended_early : one sentence when the file stops before its own end, else None
    timecode : start time code that the file carries, else None
    sound_path : the sound's own file, when it does not lie in the movie's
    numbered_from : the number in the name of a run's first picture; None for movies and sounds, and where names carry none
    remarks : one sentence each on what else is odd, such as numbers missing from a run of pictures
    """

    path: Path
    name: str
    sha256: str
    frames: int
    rate: Fraction
    variable_rate: bool
    width: int | None
    height: int | None
    first_frame: int
    duration_s: Fraction
    sound: SoundInfo | None
    video_codec: str | None = None
    timecode: str | None = None
    ended_early: str | None = None
    remarks: tuple[str, ...] = ()
    sound_path: Path | None = None
    numbered_from: int | None = None


@dataclass(frozen=True)
class Sound:
    """Decoded sound.

    samples : float32 [shape=(n_samples, channels)], full scale -1 .. 1
    rate : samples per second
    offset_s : time of sample 0, in seconds from the first picture
    """

    samples: npt.NDArray[np.float32]
    rate: int
    offset_s: Fraction

    @property
    def duration_s(self) -> Fraction:
        return Fraction(len(self.samples), self.rate)

    def mixed(self) -> MixedSound:
        """The same in one channel."""
        power = ChannelPower(self.samples.shape[1])
        for at in range(0, len(self.samples), _BLOCK):
            power.add(finite(self.samples[at : at + _BLOCK]))
        alone = power.alone()

        def blocks() -> Iterator[Floats]:
            for at in range(0, len(self.samples), _BLOCK):
                yield one_channel(finite(self.samples[at : at + _BLOCK]), alone)

        return MixedSound(len(self.samples), self.rate, self.offset_s, blocks)

    def mono(self) -> npt.NDArray[np.float32]:
        """float32 [shape=(n_samples,)]: the mean of the channels."""
        return np.asarray(self.samples.mean(axis=1), dtype=np.float32)

    def between(self, start_s: float, stop_s: float) -> npt.NDArray[np.float32]:
        """Mono samples with start_s <= t < stop_s (seconds from the first picture), cut to what exists."""
        first = max(0, round((start_s - float(self.offset_s)) * self.rate))
        stop = max(first, round((stop_s - float(self.offset_s)) * self.rate))
        return np.asarray(self.samples[first:stop].mean(axis=1), dtype=np.float32)
