"""Flights: stretches on which something rises and falls with an acceleration that stays the same, downwards alone.

Over six frames at a time a parabola in time is fitted upwards and a straight line sideways; stretches of frames that both fit are put together and fitted
again as a whole. The frame at either end may hold a throw or a landing, and is left out of the whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs

Array = npt.NDArray[np.float64]
WINDOW = 6
"""Frames (calculated: something falls 0.3 m in six frames at 24)."""
LEAST = 5
"""Frames of a flight, its ends left out: a parabola has three numbers."""
SLOWEST = 1.5
"""m/s2; what falls slower may be lowered (guess: a sixth of gravity)."""
FASTEST = 40.0
"""m/s2; what goes faster is struck (guess: four times gravity)."""
SIDEWAYS = 0.2
"""Of the acceleration downwards, that there may be sideways (guess: air, and a camera that is not quite level)."""
FITS = 0.002
"""Of the height of a stretch: what a parabola may leave of it, besides the places' own error (guess: what is lowered by hand leaves more, since its
acceleration turns round within the move)."""
KEEPS = 0.3
"""Of its speed, that a thing has two frames after a flight at the most: what lands, is caught or bounces loses it, what a hand puts down does not."""
LEAST_HEIGHT = 0.12
"""m that a flight goes up and down at the least (guess: a smaller one is over within four frames)."""


@dataclass(frozen=True)
class Flight:
    """span : frames of the whole; acceleration, error : m/s2, downwards is positive; height : m from highest to lowest

    lands : whether it stops at once, or turns back, within two frames of its end
    """

    span: Span
    acceleration: float
    error: float
    height: float
    lands: bool


def flights(up: Array, across: Array, error: Array, first: int, fps: float) -> list[Flight]:
    """up : [shape=(n,)] height, m; across : [shape=(n, k)] the other directions, m; error : [shape=(n,)] standard error of a place, m; first : frame index"""
    n = len(up)
    if n < WINDOW:
        return []
    falls = np.array([_falls(up[i : i + WINDOW], across[i : i + WINDOW], error[i : i + WINDOW], fps) for i in range(n - WINDOW + 1)])
    found = []
    for run in runs(np.isfinite(falls)):
        for part in _alike(falls[run.start : run.stop]):
            start, stop = run.start + part.start + 1, run.start + part.stop + WINDOW - 2
            if stop - start >= LEAST:
                found += _whole(up, error, Span(start, stop), first, fps)
    return found


def _fit(values: Array, fps: float, power: int) -> tuple[Array, Array, float]:
    """(coefficients by rising power of seconds, what is left, spread of the highest one for a place's error of 1)."""
    t = (np.arange(len(values)) - (len(values) - 1) / 2) / fps
    table = np.stack([t**k for k in range(power + 1)], axis=1)
    inverse = np.linalg.pinv(table)
    answer = inverse @ values
    return answer, values - table @ answer, float(np.linalg.norm(inverse[-1]))


def _falls(up: Array, across: Array, error: Array, fps: float) -> float:
    """Acceleration downwards over a window, m/s2; nan where it is no flight."""
    height, left, spread = _fit(up, fps, 2)
    side = _fit(across, fps, 2)[0][2] if across.size else np.zeros(0)
    down = -2 * float(height[2])
    noise = float(np.sqrt(np.square(error).mean()))
    allowed = 2 * noise + FITS * float(np.ptp(up))
    if not SLOWEST < down < FASTEST or float(np.sqrt(np.square(left).mean())) > allowed:
        return float("nan")
    return down if 2 * float(np.linalg.norm(side)) < SIDEWAYS * down + 4 * spread * noise else float("nan")


def _alike(falls: Array) -> Sequence[Span]:
    """Stretches of windows whose accelerations lie within a quarter of their median."""
    return runs(np.abs(falls / np.median(falls) - 1) < 0.25)


def _whole(up: Array, error: Array, part: Span, first: int, fps: float) -> list[Flight]:
    own, span = up[part.start : part.stop], Span(first + part.start, first + part.stop)
    answer, left, spread = _fit(own, fps, 2)
    noise = max(
        float(np.sqrt(np.square(error[part.start : part.stop]).mean())), float(np.sqrt(np.square(left).sum() / max(1, len(own) - 3)))
    )
    height, down = float(np.ptp(own)), -2 * float(answer[2])
    if height < LEAST_HEIGHT:
        return []
    return [Flight(span, down, 2 * spread * noise, height, _lands(up, part, float(answer[1]), down, fps))]


def _lands(up: Array, part: Span, middle: float, down: float, fps: float) -> bool:
    """middle : speed upwards in the flight's middle, m/s"""
    if part.stop + 2 >= len(up):
        return False
    would = middle - down * (len(part) / 2 + 2) / fps
    return would < 0 and float(up[part.stop + 2] - up[part.stop + 1]) * fps > KEEPS * would
