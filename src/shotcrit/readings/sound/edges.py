"""Where phones really begin: the aligner's edges taken to where a phonetician puts them.

The aligner steps 10 ms, looks through windows of 25 ms and at differences over 60, so it finds a sound early that comes out of silence, and has habits of its
own at each kind of change. Words after a silence are put where the wave rises (`onset_s`), all other edges are moved by the kind of change they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.force import Timed, TimedPhone
from shotcrit.readings.sound.phoneset import PHONES
from shotcrit.readings.sound.waveform import RATE, Samples

Floats = npt.NDArray[np.float32]

LATER_MS = {
    ("vowel", "nasal"): 7.0,
    ("vowel", "voiced fricative"): 10.0,
    ("vowel", "hiss"): 5.0,
    ("stop", "glide"): 15.0,
    ("hiss", "glide"): 14.0,
    ("glide", "vowel"): -11.0,
    ("nasal", "vowel"): -6.0,
    ("voiced stop", "vowel"): -6.0,
    ("stop", "vowel"): 4.0,
}
"""How much later than the aligner's a hand's edge lies. Medians over 40 sentences read by four people (hand labels; docs/decisions.md says which and how),
drawn towards 0 by ten more edges without error; kinds of change that were met under 20 times or move under 3 ms are left out, except that hiss before a glide
goes with a stop before one: in both the voice sets in late. A nasal and a fricative are seen by the aligner as soon as their window reaches into them; a
glide into its vowel has no edge at all, and the hand cuts where it starts to change."""
ROW_S = 0.0025
"""Between two levels of the wave."""
_ROW, _WINDOW = round(ROW_S * RATE), 160
"""Samples; the window is 10 ms, a voice's period or two."""
BANDS_HZ = ((100, 500), (500, 1500), (1500, 4000), (4000, 7900))
RISE = {"hiss": 0.5, "breathy": 0.27, "stop": 0.3}
VOICED_RISE = 0.4
"""Of the way from the silence's level to the sound's, in dB, in the band that rises most: where a sound begins. By kind of sound: s and sh come on slowly, h, f
and th never get loud. Measured on the same sentences, where other fractions put starts later or earlier by 5 ms a tenth."""
LEAST_RISE_DB = 9.0
"""Under this nothing rises that could be an onset, and the aligner's edge stands (guess)."""
STAYS_S = 0.0125
"""A level under the threshold for so long is silence: longer than a low voice's period (guess)."""
CLOSURE_S = 0.12
"""A silence up to this before a stop is its closure (closure and release total 86 +- 31 ms, Crystal & House 1988)."""
NO_PAUSE_S = 0.06
"""A silence up to this before a vowel is the vowel's own beginning in the throat, which hands count with the word (guess, after the same sentences)."""
LOOK_BACK_S = 0.2
"""How far before the aligner's edge the level of silence is taken (guess)."""
DIP_DB = 10.0
"""A word that begins with a vowel after a vowel or a glide, often with a catch in the throat: the wave dips by so much between (guess)."""
DIP_AROUND_S = (0.02, 0.12)
"""Where that dip is looked for, before and after the aligner's edge (guess: a glottal stop takes 30 to 100 ms)."""
LEAST_S = 0.01
"""No phone gets shorter than this by moving its edges."""


def kind_of(phone: str) -> str:
    """The kinds of sound that edges are told apart by."""
    kind = PHONES[phone]
    if kind.manner in ("stop", "affricate"):
        return "voiced stop" if kind.voiced else "stop"
    if kind.manner == "fricative":
        return "voiced fricative" if kind.voiced else "hiss" if phone in ("S", "SH") else "breathy"
    return "glide" if kind.manner == "liquid" else kind.manner


def levels_of(samples: Samples, start_s: float, end_s: float) -> tuple[Floats, float]:
    """float32 [shape=(n, 4)] level of each band, dB, every 2.5 ms; and when the first row is centred, s from the samples' start."""
    first = max(0, round(start_s / ROW_S))
    count = max(0, min(len(samples) // _ROW, round(end_s / ROW_S)) - first) + 1
    at = first * _ROW - _WINDOW // 2
    part = np.pad(samples[max(0, at) : at + count * _ROW + _WINDOW], (max(0, -at), _WINDOW))
    rows = np.lib.stride_tricks.sliding_window_view(part, _WINDOW)[: count * _ROW : _ROW]
    power = np.abs(np.fft.rfft(rows * np.hanning(_WINDOW).astype(np.float32), 256, axis=1)) ** 2
    hertz = np.fft.rfftfreq(256, 1 / RATE)
    bands = [power[:, (hertz >= low) & (hertz < high)].mean(axis=1) for low, high in BANDS_HZ]
    return np.asarray(10 * np.log10(np.stack(bands, axis=1) + 1e-9), np.float32), first * ROW_S


def onset_s(samples: Samples, aligned_s: float, *, quiet_from_s: float, latest_s: float, rise: float) -> float:
    """When a sound begins that comes out of a silence, s. The aligner's edge where nothing rises by LEAST_RISE_DB.

    From the loudest moment up to latest_s back in time, to the last one at which the level was under `rise` of the way for STAYS_S.
    """
    begin = max(quiet_from_s, aligned_s - LOOK_BACK_S, 0.0)
    level, zero_s = levels_of(samples, begin, latest_s)
    edge = round((aligned_s - zero_s) / ROW_S)
    before = level[: max(4, edge - 2)]
    if len(level) < 8 or len(before) < 4:
        return aligned_s
    over = (level - np.quantile(before, 0.3, axis=0)).max(axis=1)
    near = max(0, min(edge, len(over) - 1))
    top = near + int(over[near:].argmax())
    if over[top] < LEAST_RISE_DB:
        return aligned_s
    under = np.flatnonzero(_quiet(over <= max(LEAST_RISE_DB, rise * float(over[top])))[:top])
    return zero_s + (int(under[-1]) + 1) * ROW_S if len(under) else zero_s


def _quiet(flags: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Those that are part of a stretch of STAYS_S at least."""
    size = round(STAYS_S / ROW_S)
    if len(flags) < size:
        return np.zeros(len(flags), np.bool_)
    whole = np.lib.stride_tricks.sliding_window_view(flags, size).all(axis=1)
    return np.convolve(whole, np.ones(size, int)) > 0


def with_edges(samples: Samples, words: Sequence[Timed]) -> tuple[Timed, ...]:
    """The same words with their edges put right; phones stay in order and none gets shorter than LEAST_S."""
    flat = [phone for word in words for phone in word.phones]
    opens = np.cumsum([0, *(len(word.phones) for word in words)])[:-1]
    starts = [p.start_s for p in flat]
    for index, phone in enumerate(flat):
        before = flat[index - 1] if index else None
        after = flat[index + 1] if index + 1 < len(flat) else phone
        after_s = after.end_s if after.start_s - phone.end_s <= ROW_S else phone.end_s
        starts[index] = _start(samples, before, phone, after_s, index in opens)
    moved = _ordered(flat, starts)
    return tuple(replace(word, phones=tuple(moved[a : a + len(word.phones)])) for word, a in zip(words, opens, strict=True))


def _start(samples: Samples, before: TimedPhone | None, phone: TimedPhone, after_s: float, opens: bool) -> float:
    kind = kind_of(phone.phone)
    if before is None or phone.start_s - before.end_s > ROW_S:
        quiet = before.end_s if before else 0.0
        if before and phone.start_s - quiet <= (CLOSURE_S if "stop" in kind else NO_PAUSE_S if kind == "vowel" else 0.0):
            return quiet
        latest = phone.end_s + (0.02 if kind in ("hiss", "stop", "breathy") else max(0.0, after_s - phone.end_s))
        return onset_s(samples, phone.start_s, quiet_from_s=quiet, latest_s=latest, rise=RISE.get(kind, VOICED_RISE))
    if opens and kind == "vowel" and kind_of(before.phone) in ("vowel", "glide"):
        caught = _after_dip(samples, phone)
        if caught is not None:
            return caught
    return phone.start_s + LATER_MS.get((kind_of(before.phone), kind), 0.0) / 1000


def _after_dip(samples: Samples, phone: TimedPhone) -> float | None:
    """Where a vowel sets in after a catch in the throat; None where the wave does not dip before it."""
    begin, end = phone.start_s - DIP_AROUND_S[0], min(phone.start_s + DIP_AROUND_S[1], phone.end_s)
    level, zero_s = levels_of(samples, begin, end)
    if len(level) < 12:
        return None
    whole = level[:, :2].max(axis=1)
    low = int(whole[: len(whole) * 3 // 4].argmin())
    top = low + int(whole[low:].argmax())
    if low == 0 or min(float(whole[:low].max()), float(whole[top])) - float(whole[low]) < DIP_DB:
        return None
    threshold = whole[low] + VOICED_RISE * (whole[top] - whole[low])
    return zero_s + (low + int(np.flatnonzero(whole[low:] > threshold)[0])) * ROW_S


def _ordered(phones: Sequence[TimedPhone], starts: Sequence[float]) -> list[TimedPhone]:
    """New starts, each at least LEAST_S after the one before; what touched its neighbour still does, and a pause keeps where it began."""
    rising: list[float] = []
    for start in starts:
        rising.append(start if not rising else max(start, rising[-1] + LEAST_S))
    touching = [b.start_s - a.end_s <= ROW_S for a, b in pairwise(phones)] + [False]
    ends = [
        rising[i + 1] if i + 1 < len(phones) and (touching[i] or rising[i + 1] < phone.end_s) else max(phone.end_s, rising[i] + LEAST_S)
        for i, phone in enumerate(phones)
    ]
    return [replace(phone, start_s=start, end_s=end) for phone, start, end in zip(phones, rising, ends, strict=True)]
