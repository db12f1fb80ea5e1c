"""Many channels of sound brought to one, block by block."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

CANCELLED = 50
"""Times that the loudest channel's power may be that of the mean of all, before they are taken to cancel each other. Guess."""

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True)
class MixedSound:
    """A sound in one channel, read in a stream, so that an hour of it never lies in memory.

    The mean of the channels; where they cancel each other (one phase-inverted), the loudest of them. A sample that is no number counts as 0.

    samples : how many there are
    rate, offset_s : as in Sound
    blocks : float32 [shape=(n,)] one after another; may be called again
    """

    samples: int
    rate: int
    offset_s: Fraction
    blocks: Callable[[], Iterator[Floats]]


class ChannelPower:
    """Learns from all of a sound's blocks whether its channels cancel each other."""

    def __init__(self, channels: int) -> None:
        self._each = np.zeros(channels)
        self._mean = 0.0

    def add(self, block: Floats) -> None:
        """block : float32 [shape=(n, channels)], finite"""
        self._each += (block**2).sum(axis=0, dtype=np.float64)
        self._mean += float((block.mean(axis=1) ** 2).sum(dtype=np.float64))

    def alone(self) -> int | None:
        """The channel to take in place of the mean; None where the mean will do."""
        if len(self._each) > 1 and self._mean < self._each.max() / CANCELLED:
            return int(self._each.argmax())
        return None


def one_channel(block: Floats, alone: int | None) -> Floats:
    """float32 [shape=(n,)] of [shape=(n, channels)]: one of them, or their mean."""
    return block.mean(axis=1, dtype=np.float32) if alone is None else np.ascontiguousarray(block[:, alone])


def finite(samples: Floats) -> Floats:
    """Samples that are no number, or endless, become 0."""
    return np.nan_to_num(np.asarray(samples, np.float32), nan=0.0, posinf=0.0, neginf=0.0)
