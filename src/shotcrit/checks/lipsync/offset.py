"""The best shift between the mouth that the phones want and the mouth that is seen, and what it is worth.

Sign, as in ITU-R BT.1359: positive = the picture comes late (sound early), negative = the picture comes early.
A frame's picture is compared with the sound at the frame's start, which is the time that animation software evaluates a frame at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.readings.events import Phone
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.sound.articulation import wanted_mouth

Array = npt.NDArray[np.float64]
Grade = Literal["tight", "ok", "visible", "unacceptable"]

# ITU sense, ms.
R37_MS = (-60, 40)
"""EBU R 37-2007, overall at the output to transmitters."""
DETECT_MS = (-125, 45)
"""ITU-R BT.1359-1, detectability."""
ACCEPT_MS = (-185, 90)
"""ITU-R BT.1359-1, acceptability."""

SEARCH_FRAMES = 12.0
"""Shifts searched, frames each way (guess: a mouth half a second off is another line's)."""
COARSE_FRAMES, STEP_FRAMES = 0.5, 0.05
"""First a coarse grid over the whole search, then a fine one around its best."""
SPEED_WEIGHT = 2.0
"""Weight of the correlation of speeds beside that of openings (guess). On four synthetic voices with three lines each and four ways to draw a
mouth from the phones, errors of the offset fell by a quarter (0.17 to 0.13 frames rms), and no less with a tenth of the range as noise."""
STILL = 1e-9
"""Spread below which a mouth stands still, of its width: rounding alone."""
FEWEST_FRAMES = 10
"""Frames of speech below which no shift is given (guess)."""
RELATED = 0.45
"""Least correlation of wanted and seen at the best shift for the shift to mean anything. Guess: a rough first mouth reading correlated
0.92 to
0.96 with the truth, so a mouth below half of that follows something else."""


@dataclass(frozen=True)
class Offset:
    """frames, error_frames: best shift and its standard error, picture late is positive; correlation of wanted and seen there."""

    frames: float
    error_frames: float
    correlation: float
    gain: float

    def milliseconds(self, clock: FrameClock) -> float:
        return self.frames * 1000 / float(clock.rate)


def grade_offset(offset_ms: float | Fraction) -> Grade:
    """What broadcasting thinks of a lip-sync error. offset_ms : ITU sense, picture late is positive; every limit counts as inside."""
    if R37_MS[0] <= offset_ms <= R37_MS[1]:
        return "tight"
    if DETECT_MS[0] <= offset_ms <= DETECT_MS[1]:
        return "ok"
    if ACCEPT_MS[0] <= offset_ms <= ACCEPT_MS[1]:
        return "visible"
    return "unacceptable"


def best_offset(
    opening: Array, phones: Sequence[Phone], clock: FrameClock, *, frames: Sequence[int] | npt.NDArray[np.int64]
) -> Offset | None:
    """The shift of the seen opening against `phones` over frame indices `frames`.

    opening : float [shape=(n_frames,)], nan where unknown

    Fits opening(t) = a + b * wanted(t - shift) by least squares for shifts on a grid and takes the best correlation; near it, the
    best of opening and of its speed together, the peak refined by a parabola. Speeds tell the time of a movement better: how wide open
    each vowel is depends on the character, when lips part and meet does not. Error: standard error of a shift,
    sd(residual) / (|b| * sqrt(sum of the slope squared)), widened for residuals that hang together.
    Returns None for fewer than FEWEST_FRAMES known frames or a mouth that does not move.
    """
    index = np.asarray(frames, np.int64)
    index = index[np.isfinite(opening[index])]
    if len(index) < FEWEST_FRAMES or float(np.std(opening[index])) < 1e-6:
        return None
    seen = np.asarray(opening[index], np.float64)
    starts = frame_starts(clock)[index]
    rate = float(clock.rate)
    coarse = np.arange(-SEARCH_FRAMES, SEARCH_FRAMES + 0.1, COARSE_FRAMES)
    near = coarse[int(np.argmax(_matches(seen, _wanted(phones, starts, coarse / rate))))]
    fine = np.arange(near - 2 * COARSE_FRAMES, near + 2 * COARSE_FRAMES + STEP_FRAMES / 2, STEP_FRAMES)
    wishes = _wanted(phones, starts, fine / rate)
    match = _matches(seen, wishes) + SPEED_WEIGHT * _matches_of_speed(seen, index, wishes)
    peak = int(np.argmax(match))
    shift = float(fine[peak]) + _parabola(match, peak) * STEP_FRAMES
    wanted = wanted_mouth(phones, starts - shift / rate).opening
    error, gain = _shift_error(seen, wanted, phones, starts, shift, rate)
    return Offset(shift, error, _correlate(seen, wanted), gain)


def _wanted(phones: Sequence[Phone], starts: Array, shifts_s: Array) -> Array:
    """The opening that is wanted at each frame for each shift, float64 [shape=(n_shifts, n_frames)]."""
    times = starts - shifts_s[:, None]
    return wanted_mouth(phones, times.ravel()).opening.reshape(times.shape)


def _matches(seen: Array, wishes: Array) -> Array:
    """The correlation of what is seen with each wish, float64 [shape=(n_shifts,)]; -1 where either stands still."""
    here, there = seen - seen.mean(), wishes - wishes.mean(axis=1, keepdims=True)
    moves = (seen.std() >= STILL) & (wishes.std(axis=1) >= STILL)
    sizes = np.linalg.norm(here) * np.linalg.norm(there, axis=1)
    return np.where(moves, there @ here / np.where(moves, sizes, 1.0), -1.0)


def _matches_of_speed(seen: Array, index: npt.NDArray[np.int64], wishes: Array) -> Array:
    """The same of the change from each frame's last neighbour to its next, where both are known; 0 where that is on too few frames."""
    near = (index[2:] - index[:-2]) == 2
    if near.sum() < FEWEST_FRAMES:
        return np.zeros(len(wishes))
    return _matches(_speed(seen)[near], np.array([_speed(wanted)[near] for wanted in wishes]))


def _speed(values: Array) -> Array:
    return values[2:] - values[:-2]


def _correlate(a: Array, b: Array) -> float:
    return float(_matches(a, b[None])[0])


def _parabola(values: Array, peak: int) -> float:
    if not 0 < peak < len(values) - 1:
        return 0.0
    left, mid, right = values[peak - 1 : peak + 2]
    below = left - 2 * mid + right
    return float(0.5 * (left - right) / below) if below < 0 else 0.0


def _shift_error(seen: Array, wanted: Array, phones: Sequence[Phone], starts: Array, shift: float, rate: float) -> tuple[float, float]:
    gain = float(np.cov(wanted, seen)[0, 1] / max(wanted.var(ddof=1), 1e-12))
    residual = seen - seen.mean() - gain * (wanted - wanted.mean())
    step = 0.25
    ahead = wanted_mouth(phones, starts - (shift - step) / rate).opening
    behind = wanted_mouth(phones, starts - (shift + step) / rate).opening
    slope = gain * (ahead - behind) / (2 * step)
    together = _correlate(residual[:-1], residual[1:]) if len(residual) > 3 else 0.0
    widen = float(np.sqrt((1 + max(together, 0)) / (1 - min(max(together, 0), 0.9))))
    power = float(np.sqrt((slope**2).sum()))
    return float(widen * residual.std(ddof=2) / max(power, 1e-9)), gain
