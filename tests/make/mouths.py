"""Mouths with known answers, driven from phones, by two ways that share nothing.

`blended` : the project's own blend of articulations, sampled at frame starts
`keyed`   : what an animator might key by hand: one pose a phone from a table of its own, joined by monotone cubics (scipy's PCHIP)
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from scipy.interpolate import PchipInterpolator

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, Mouth
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.events import Phone, Word
from shotcrit.readings.sound.articulation import wanted_mouth
from tests.make.two_hander import movie_info

_OPEN = {
    "AA": 0.5, "AE": 0.48, "AY": 0.46, "AW": 0.46, "AO": 0.42, "EH": 0.34, "AH": 0.28, "OY": 0.34, "OW": 0.26, "EY": 0.27, "ER": 0.2, "IH": 0.2,
    "UH": 0.2, "IY": 0.15, "UW": 0.12, "P": 0.0, "B": 0.0, "M": 0.0, "F": 0.06, "V": 0.06, "W": 0.08, "S": 0.08, "Z": 0.08, "SH": 0.1, "CH": 0.1,
    "JH": 0.1, "ZH": 0.1, "HH": 0.2,
}  # fmt: skip
_WIDE = {"IY": 1.1, "EY": 1.06, "AE": 1.05, "UW": 0.72, "OW": 0.78, "W": 0.72, "AO": 0.86, "OY": 0.86, "SH": 0.9, "CH": 0.9, "JH": 0.9}


def blended(phones: Sequence[Phone], clock: FrameClock, *, late: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Opening and width [shape=(n_frames,)], `late` frames late."""
    starts = np.array([float(e) for e in clock.edges[:-1]])
    wanted = wanted_mouth(phones, starts - late / float(clock.rate))
    return wanted.opening, wanted.width


def keyed(phones: Sequence[Phone], clock: FrameClock, *, late: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Opening and width by a pose at the middle of each phone (closures held over the whole phone), at rest half a second away from speech."""
    keys: list[tuple[float, float, float]] = []
    for phone in phones:
        shape = (_OPEN.get(phone.phone, 0.13), _WIDE.get(phone.phone, 1.0))
        middle = (phone.start_s + phone.end_s) / 2
        keys += [(t, *shape) for t in ((phone.start_s + 0.005, phone.end_s - 0.005) if phone.phone in "PBM" else (middle,))]
    gaps = [(a, b) for a, b in itertools.pairwise(phones) if b.start_s - a.end_s > 0.3]
    keys += [(t, 0.0, 1.0) for a, b in gaps for t in (a.end_s + 0.12, b.start_s - 0.12)]
    keys += [(phones[0].start_s - 0.15, 0.0, 1.0), (phones[-1].end_s + 0.15, 0.0, 1.0)]
    keys.sort()
    times = np.array([k[0] for k in keys]) + 1e-6 * np.arange(len(keys))
    starts = np.array([float(e) for e in clock.edges[:-1]]) - late / float(clock.rate)
    inside = np.clip(starts, times[0], times[-1])
    return tuple(PchipInterpolator(times, [k[i] for k in keys])(inside) for i in (1, 2))  # type: ignore[return-value]


def talking(
    words: Sequence[Word], phones: Sequence[Phone], opening: np.ndarray, width: np.ndarray, clock: FrameClock, *, level: int = 3, noise: float = 0.0,
    wave: np.ndarray | None = None, seed: int = 0,
) -> Readings:  # fmt: skip
    """Readings of one character, Ada, with this mouth; `noise`: standard error put on both series, of the mouth's width."""
    random = np.random.default_rng(seed)
    error = np.full(len(clock), noise, np.float32)
    seen = np.maximum(opening + noise * random.normal(size=len(clock)), 0)
    mouth = Mouth(
        opening=seen.astype(np.float32), width=(width + noise * random.normal(size=len(clock))).astype(np.float32), opening_error=error,
        width_error=error, meets=(1 / (1 + np.exp(np.clip((seen - 0.02 - noise) / 0.01, -50, 50)))).astype(np.float32), taught=("shut", "open", "wide"),
    )  # fmt: skip
    sound = SoundReadings(words=tuple(words), phones=tuple(phones), wave=np.zeros((0, 1, 2), np.float32) if wave is None else wave)
    return Readings(
        movie=movie_info(len(clock)), clock=clock, sound=sound, cast=parse_cast({"characters": [{"name": "Ada"}]}, name="generated"),
        acting=(Acting(who="Ada", level=level, mouth=mouth),),  # type: ignore[arg-type]
    )  # fmt: skip


def clock_for(phones: Sequence[Phone], rate: Fraction = Fraction(24)) -> FrameClock:
    """Half a second beyond the last phone."""
    return FrameClock.for_sound(rate, Fraction(phones[-1].end_s + 0.6).limit_denominator(10000))
