"""To and fro: how far each mark swings at each rate, over stretches of a second, slow movement taken out.

Over each stretch a cubic in time is fitted together with a sine and cosine of one rate, dimension by dimension; the rate that explains most is the mark's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.readings.motion.paths import Path

Array = npt.NDArray[np.float64]
LENGTH_S = 1.0
"""Length of a stretch, s (guess: two bobs and more of anything that bobs)."""
SLOWEST_HZ, FASTEST_HZ, STEP_HZ = 2.0, 6.0, 0.25
"""Rates that are looked for: under 2 Hz a second holds no two bobs, over 6 Hz a bob at 24 frames a second has under four drawings."""
HOP = 3
"""Frames from one stretch to the next (guess)."""


@dataclass(frozen=True)
class Swings:
    """One mark's to and fro over the stretches of a shot.

    starts : int [shape=(m,)] frame index at which each stretch starts; length : of a stretch, frames
    size : float64 [shape=(m, f)] half of its way from end to end at each rate, unit of the path; nan where the mark is not seen on every frame
    share : float64 [shape=(m, f)] part of what a cubic leaves that this rate explains
    error : float64 [shape=(m,)] standard error of a size
    """

    who: str
    mark: str
    starts: npt.NDArray[np.int64]
    length: int
    size: Array
    share: Array
    error: Array


def rates() -> Array:
    """Hz, the columns of Swings."""
    return np.arange(SLOWEST_HZ, FASTEST_HZ + STEP_HZ / 2, STEP_HZ)


@cache
def _tables(length: int, fps: float) -> tuple[Array, Array]:
    """(orthonormal cubic [shape=(length, 4)], orthonormal sine and cosine of each rate apart from it [shape=(length, f, 2)])."""
    t = np.arange(length) - (length - 1) / 2
    cubic = np.linalg.qr(np.stack([(t / length) ** power for power in range(4)], axis=1))[0]
    waves = []
    for rate in rates():
        pair = np.stack([np.cos(2 * np.pi * rate * t / fps), np.sin(2 * np.pi * rate * t / fps)], axis=1)
        waves.append(np.linalg.qr(pair - cubic @ (cubic.T @ pair))[0])
    return cubic, np.stack(waves, axis=1)


def swings_of(paths: Sequence[Path], shot: Span, fps: float) -> list[Swings]:
    """The to and fro of each mark over the same stretches of a shot; [] for a shot shorter than one."""
    length = round(LENGTH_S * fps)
    starts = np.arange(shot.start, shot.stop - length + 1, HOP)
    if not len(starts):
        return []
    found: dict[tuple[str, str], Swings] = {}
    for path in paths:
        if path.shot != shot or len(path.at) < length:
            continue
        inside = (starts >= path.span.start) & (starts + length <= path.span.stop)
        size, share, error = _measured(path, starts[inside], length, fps)
        known = found.get((path.who, path.mark)) or _unknown(path, starts, length)
        known.size[inside], known.share[inside], known.error[inside] = size, share, error
        found[path.who, path.mark] = known
    return list(found.values())


def _unknown(path: Path, starts: npt.NDArray[np.int64], length: int) -> Swings:
    shape = (len(starts), len(rates()))
    return Swings(path.who, path.mark, starts, length, np.full(shape, np.nan), np.full(shape, np.nan), np.full(len(starts), np.nan))


def _measured(path: Path, starts: npt.NDArray[np.int64], length: int, fps: float) -> tuple[Array, Array, Array]:
    cubic, waves = _tables(length, fps)
    windows = np.lib.stride_tricks.sliding_window_view(path.at - path.at.mean(axis=0), length, axis=0)[starts - path.span.start]
    left = np.square(windows).sum(axis=2) - np.square(windows @ cubic).sum(axis=2)
    power = np.square(np.einsum("mdl,lfk->mdfk", windows, waves, optimize=True)).sum(axis=(1, 3))
    share = power / np.maximum(left.sum(axis=1), 1e-18)[:, None]
    errors = np.lib.stride_tricks.sliding_window_view(path.error, length)[starts - path.span.start]
    # A sine of size a over n frames has a power of a^2 n / 2.
    return np.sqrt(2 * power / length), share, np.sqrt(2 * np.square(errors).mean(axis=1) / length)
