"""Two sounds lined up: first by what they sound like, then, where it is the same recording, by the wave itself, to the sample."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.takes.monotone import Prices, best_way
from shotcrit.takes.side import WAVE_RATE, Side

Floats = npt.NDArray[np.float32]
Doubles = npt.NDArray[np.float64]

LEAST_HOP_S = 0.02
"""Seconds between two looks at the sound (guess: half a frame)."""
MOST_LOOKS = 1800
"""Looks at each sound: with more of them they lie farther apart, so that long takes cost no more."""
WINDOW_S = 0.064
BANDS = 20
LOWEST_HZ, HIGHEST_HZ = 100.0, 3600.0
QUIET_DB = -50.0
"""dB under the loudest look, below which nothing is heard (guess: the noise of a clean recording)."""
ALIKE_DB = 8.0
"""dB, quadratic mean over the bands, at which two looks are as much alike as not (guess)."""
PRICES = Prices((0.1, 0.0, 0.1, 0.25), leap=2.5, enter=1.5, ends=1.0)
STRANGE = 0.75
"""What a look that stands for nothing pays; alike ones pay less (guess)."""

PIECE_S, PIECE_HOP_S = 0.4, 0.1
"""Seconds of wave that are laid over each other (guess: a syllable or two)."""
REACH_S = 0.16
"""Seconds about the expected place in which the wave is looked for (guess: a few looks)."""
SAME_WAVE = 0.6
"""Correlation from which two pieces are one recording (guess: other mixes of one voice reach 0.7, other takes of a voice 0.3)."""
HELD_S = 1.0
"""Seconds into a pause for which what was heard before it and after it still counts, where both say the same (guess)."""
AGREE_S = 0.012
"""Seconds by which two places may differ and say the same."""


@dataclass(frozen=True)
class HeardMap:
    """Where the sound of each new frame lies in the old take.

    at_s : float64 [shape=(n_new,)] seconds from the old take's first picture; nan where nothing tells
    weight : float64 [shape=(n_new,)] 0..1, 1 where it is the same recording to the sample
    """

    at_s: Doubles
    weight: Doubles

    @property
    def same(self) -> float:
        """0..1: part of the frames whose sound was found again."""
        return float((self.weight > 0).mean()) if len(self.weight) else 0.0


def listen_along(old: Side, new: Side) -> HeardMap | None:
    """Where each new frame's sound lies in the old take; None where a take has no sound, or nothing of it was found again."""
    if old.wave is None or new.wave is None or not _sounding(old.wave) or not _sounding(new.wave):
        return None
    hop = max(LEAST_HOP_S, len(old.wave) / WAVE_RATE / MOST_LOOKS, len(new.wave) / WAVE_RATE / MOST_LOOKS)
    before, after = _looks(old.wave, hop), _looks(new.wave, hop)
    way = best_way(_costs(before, after), np.full(len(after), STRANGE, np.float32), PRICES)
    place, expected = _expected(way, hop, len(new.wave) / WAVE_RATE)
    shift, sure = _laid_over(old.wave, new.wave, place, expected, REACH_S + 2 * hop)
    sure = np.where(_backed(shift, sure), sure, 0)
    if not (sure >= SAME_WAVE).any():
        return None
    return _by_frame(new, place + new.begins_s, place + shift + old.begins_s, sure)


def _sounding(wave: Floats) -> bool:
    return len(wave) > PIECE_S * WAVE_RATE and float(np.abs(wave).max()) > 0


def _looks(wave: Floats, hop_s: float) -> Floats:
    """float32 [shape=(looks, BANDS)]: dB of each band over the quiet, 0 and up."""
    size, hop = round(WINDOW_S * WAVE_RATE), round(hop_s * WAVE_RATE)
    padded = np.concatenate([wave, np.zeros(size, np.float32)])
    at = np.arange(0, max(len(wave), 1), hop)
    window = np.hanning(size).astype(np.float32)
    bands = _bands(size)
    power = np.empty((len(at), BANDS), np.float32)
    for first in range(0, len(at), 512):
        part = padded[at[first : first + 512, None] + np.arange(size)] * window
        power[first : first + 512] = (np.abs(np.fft.rfft(part, axis=1)) ** 2).astype(np.float32) @ bands
    level = 10 * np.log10(power + 1e-12)
    return np.maximum(level - (level.max() + np.float32(QUIET_DB)), 0)


def _bands(size: int) -> Floats:
    """float32 [shape=(size // 2 + 1, BANDS)]: triangles, evenly spread on the mel scale (O'Shaughnessy 1987)."""
    low, high = (2595 * np.log10(1 + hz / 700) for hz in (LOWEST_HZ, HIGHEST_HZ))
    mel = np.linspace(low, high, BANDS + 2)
    edges = 700 * (10 ** (mel / 2595) - 1)
    hz = np.fft.rfftfreq(size, 1 / WAVE_RATE)[:, None]
    rising = (hz - edges[:-2]) / (edges[1:-1] - edges[:-2])
    falling = (edges[2:] - hz) / (edges[2:] - edges[1:-1])
    return np.clip(np.minimum(rising, falling), 0, None).astype(np.float32)


def _costs(before: Floats, after: Floats) -> Floats:
    """float32 [shape=(new, old)], 0..1: how unlike two looks are."""
    square = (after**2).sum(1)[:, None] + (before**2).sum(1)[None] - 2 * after @ before.T
    mean = np.maximum(square, 0) / BANDS
    return np.asarray(mean / (mean + ALIKE_DB**2), np.float32)


def _expected(way: npt.NDArray[np.int64], hop: float, length_s: float) -> tuple[Doubles, Doubles]:
    """The middles of the new sound's pieces, and by how much the old sound there is expected to lie later; seconds of the waves."""
    place = np.arange(PIECE_S / 2, max(length_s - PIECE_S / 2, PIECE_S / 2 + 1e-6), PIECE_HOP_S)
    known = np.flatnonzero(way >= 0)
    if len(known) == 0:
        return place, np.zeros_like(place)
    nearest = known[np.abs(known[None] * hop - place[:, None]).argmin(axis=1)]
    return place, (way[nearest] - nearest) * hop


def _laid_over(old: Floats, new: Floats, place: Doubles, expected: Doubles, reach_s: float) -> tuple[Doubles, Doubles]:
    """By how much the old sound lies later than the new at each place, seconds, and the correlation there."""
    size, reach = round(PIECE_S * WAVE_RATE), round(reach_s * WAVE_RATE)
    first = np.round(place * WAVE_RATE).astype(int) - size // 2
    from_old = first + np.round(expected * WAVE_RATE).astype(int) - reach
    wide = size + 2 * reach
    length = 1 << (wide + size - 1).bit_length()
    shift, sure = np.empty(len(place)), np.empty(len(place))
    for at in range(0, len(place), 64):
        part = slice(at, at + 64)
        piece = _cut(new, first[part], size)
        around = _cut(old, from_old[part], wide)
        cross = np.fft.irfft(np.fft.rfft(around, length) * np.conj(np.fft.rfft(piece, length)), length)[:, : 2 * reach + 1]
        energy = np.cumsum(np.pad(around.astype(np.float64) ** 2, ((0, 0), (1, 0))), axis=1)
        under = energy[:, size : size + 2 * reach + 1] - energy[:, : 2 * reach + 1]
        own = (piece.astype(np.float64) ** 2).sum(axis=1, keepdims=True)
        floor = 1e-5 * max(float((new.astype(np.float64) ** 2).mean()) * size, 1e-9)
        alike = cross / np.sqrt(np.maximum(under, floor) * np.maximum(own, floor))
        best = alike.argmax(axis=1)
        shift[part] = (from_old[part] + best - first[part]) / WAVE_RATE
        sure[part] = alike[np.arange(len(best)), best]
    return shift, sure


def _backed(shift: Doubles, sure: Doubles) -> npt.NDArray[np.bool_]:
    """Pieces that a neighbour agrees with: a vowel is like any other of its pitch, two in a row are not, at one distance."""
    both = (np.abs(np.diff(shift)) < AGREE_S) & (sure[1:] >= SAME_WAVE) & (sure[:-1] >= SAME_WAVE)
    three = both[1:] & both[:-1]
    found = np.zeros(len(shift), np.bool_)
    for k in range(3):
        found[k : k + len(three)] |= three
    return found


def _cut(wave: Floats, first: npt.NDArray[np.int64], size: int) -> Floats:
    """float32 [shape=(len(first), size)] from each place on; zero outside of the wave."""
    at = first[:, None] + np.arange(size)
    inside = (at >= 0) & (at < len(wave))
    return np.where(inside, wave[np.clip(at, 0, len(wave) - 1)], np.float32(0))


def _by_frame(new: Side, place_s: Doubles, old_s: Doubles, sure: Doubles) -> HeardMap:
    """place_s, old_s : of the pieces, seconds from the first pictures."""
    good = np.flatnonzero(sure >= SAME_WAVE)
    times = np.array([float(new.clock.middle(j)) for j in range(len(new))])
    later = np.searchsorted(place_s[good], times)
    left, right = good[np.maximum(later - 1, 0)], good[np.minimum(later, len(good) - 1)]
    nearest = np.where(np.abs(place_s[left] - times) <= np.abs(place_s[right] - times), left, right)
    moved = old_s - place_s
    agree = np.abs(moved[left] - moved[right]) < AGREE_S
    away = np.abs(place_s[nearest] - times)
    weight = np.where(away <= PIECE_S / 2, np.clip(sure[nearest], 0, 1), np.where(agree, 0.5 * np.clip(1 - away / HELD_S, 0, 1), 0.0))
    weight = np.where(agree | (away <= PIECE_HOP_S), weight, 0)
    return HeardMap(np.where(weight > 0, times + moved[nearest], np.nan), weight)
