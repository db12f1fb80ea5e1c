"""What lipsync lets pass: mouths as a scene gives them, without error, that do what Ada's line asks for but for one thing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from shotcrit.readings.acting import Acting, Mouth
from shotcrit.readings.bundle import Readings
from tests.make.limit_cases.case import Case
from tests.make.speaking import as_readings, at_phone, line, wanted

Array = np.ndarray
REACH = 8
"""Frames by which a mouth is tried earlier and later, at the least."""
BARS = 1.9864
"""Standard errors that 0.96 is away, by the hyperbolic tangent that stands for the normal distribution: atanh(2 x 0.96 - 1) / 0.8."""
WIDTH_ERROR = 0.01
"""No error of a width is taken for smaller."""
ROUND_BARS = 0.69
"""Standard errors of a rounding."""


def seen(opening: Array, width: Array, error: float = 0.0) -> Readings:
    frames = len(opening)
    none, errors = np.zeros(frames, np.float32), np.full(frames, error, np.float32)
    mouth = Mouth(opening.astype(np.float32), width.astype(np.float32), errors, errors, none)
    return as_readings(Acting("Ada", 3, {}, mouth=mouth), frames)


def reach() -> float:
    """The line's widest opening, as the check takes it: the 95th percentile over the line and four frames on each side."""
    opening, frames = wanted()[0], spoken()
    return float(np.percentile(opening[max(0, frames[0] - 4) : frames[-1] + 5], 95))


def spoken() -> Array:
    """Frame indices of the line."""
    words, _, clock = line()
    starts = np.array([float(e) for e in clock.edges[:-1]])
    return np.flatnonzero((starts >= words[0].start_s) & (starts < words[-1].end_s))


def changed(how: Callable[[Array, Array], None]) -> Readings:
    opening, width = wanted()
    how(opening, width)
    return seen(opening, width)


def shifted(ms: float) -> Readings:
    """The mouth comes so late."""
    opening, width = wanted()
    index = np.arange(len(opening)) - ms * 24 / 1000
    return seen(np.interp(index, np.arange(len(opening)), opening), np.interp(index, np.arange(len(width)), width))


def following(share: float) -> Readings:
    """A mouth that follows the phones so far that it correlates with what they ask for by `share`, and for the rest does what nobody asks."""
    asked, width = wanted()
    return seen(_mixed(asked, share), width)


def _mixed(asked: Array, share: float) -> Array:
    frames = np.arange(spoken()[0] - 4, spoken()[-1] + 5)
    own = asked[frames] - asked[frames].mean()
    # What is no part of it at any shift that is tried, so that the share stays the share.
    near = np.stack([asked[np.clip(frames - by, 0, len(asked) - 1)] for by in range(-REACH, REACH + 1)], axis=1)
    other = np.random.default_rng(5).normal(size=len(frames))
    table = np.column_stack([near, np.ones(len(frames))])
    other = other - table @ np.linalg.lstsq(table, other, rcond=None)[0]
    made = share * own / own.std() + np.sqrt(max(0.0, 1 - share**2)) * other / other.std()
    opening = asked.copy()
    opening[frames] = np.clip(0.3 + 0.1 * made, 0, None)
    return opening


def as_loud(share: float, by_phones: float = 0.0) -> Readings:
    """A mouth that opens with the loudness by `share`, and with what the phones ask for by `by_phones`."""
    frames = np.arange(spoken()[0] - 4, spoken()[-1] + 5)
    readings = seen(_mixed(wanted()[0], by_phones), wanted()[1])
    assert readings.sound is not None
    (ada,) = readings.acting
    assert ada.mouth is not None
    opening = np.asarray(ada.mouth.opening, np.float64)[frames]
    level = (opening - opening.mean()) / opening.std()
    other = np.cos(2 * np.pi * np.arange(len(frames)) / 9.0)
    other = other - other.mean() - level * float(np.dot(other - other.mean(), level) / np.dot(level, level))
    loud = np.zeros(len(wanted()[0]))
    loud[frames] = 3 + 0.5 * (share * level + np.sqrt(max(0.0, 1 - share**2)) * other / other.std())
    wave = (loud**2 / 100)[:, None, None].astype(np.float32) * np.array([[[-1.0, 1.0]]], np.float32)
    return replace(readings, sound=replace(readings.sound, wave=wave))


def closed_off(frames: float) -> Readings:
    """The lips of the m of 'moons' meet so many frames before it, and nowhere near it."""

    def how(opening: Array, width: Array) -> None:
        inside = at_phone("M")[1:-1]
        opening[inside[0] - 4 : inside[-1] + 4] = np.maximum(opening[inside[0] - 4 : inside[-1] + 4], 0.3)
        opening[inside[0] - round(frames)] = 0.0

    return changed(how)


def gap_at_m(share: float) -> Readings:
    """Lips that come no nearer than `share` of the line's widest opening at the m."""

    def how(opening: Array, width: Array) -> None:
        opening[at_phone("M")] = np.maximum(opening[at_phone("M")], share * reach())

    return changed(how)


def narrow_gap_at_m(gap: float) -> Readings:
    """The same in a mouth that hardly opens: there the gap itself counts."""
    opening, width = wanted()
    opening = 0.3 * opening
    opening[at_phone("M")] = np.maximum(opening[at_phone("M")], gap)
    return seen(opening, width)


def gap_at_f(share: float) -> Readings:
    def how(opening: Array, width: Array) -> None:
        opening[at_phone("F")] = share * reach()

    return changed(how)


def narrowed_at_w(share: float) -> Readings:
    opening, width = wanted()
    usual = float(np.median(width[max(0, spoken()[0] - 4) : spoken()[-1] + 5]))
    around = at_phone("W")
    width[around[0] - 1 : around[-1] + 2] = (1 - share) * usual
    return seen(opening, width)


def pulled_at_n(share: float) -> Readings:
    """Corners pulled out by `share` of the usual width at the n of 'wants'."""
    opening, width = wanted()
    width[:] = 1.0
    width[at_phone("N", 1)[1:-1]] = 1 + share
    return seen(opening, width)


def dropped_at_ae(share: float) -> Readings:
    def how(opening: Array, width: Array) -> None:
        around = at_phone("AE")
        part = slice(around[0] - 1, around[-1] + 2)
        opening[part] = np.minimum(opening[part], share * reach())

    return changed(how)


def unsure_gap(sure: float) -> Readings:
    """A gap at the m that is known to be one with a sureness of `sure`: the normal distribution's approximation by a hyperbolic tangent."""
    opening, width = wanted()
    touch, error = 0.12 * reach(), 0.05
    opening[at_phone("M")] = touch + error * float(np.arctanh(2 * sure - 1)) / 0.8
    return seen(opening, width, error)


def strokes(count: float) -> Readings:
    """The mouth opens and shuts so often over a line of five syllables."""
    opening, width = wanted()
    frames = spoken()
    opening[:] = 0
    t = (np.arange(len(frames)) + 0.5) / len(frames)
    opening[frames] = 0.2 - 0.2 * np.cos(2 * np.pi * round(count) * t)
    return seen(opening, width)


def stirring(amount: float) -> Readings:
    opening, width = np.zeros_like(wanted()[0]), wanted()[1]
    opening[spoken()[5]] = amount
    return seen(opening, width)


def known(frames: float) -> Readings:
    """A mouth that stands still and is known on so many frames of the line."""
    opening, width = np.zeros_like(wanted()[0]), wanted()[1]
    opening[spoken()[round(frames) :]] = np.nan
    return seen(opening, width)


def working(first_s: float, frames: float, step: float) -> Readings:
    """From `first_s` after the line's last sound on, the mouth moves by `step` on each of so many frames."""
    opening, width = wanted()
    words, _, clock = line()
    starts = np.array([float(e) for e in clock.edges[:-1]])
    at = int(np.searchsorted(starts, words[-1].end_s + first_s - 1e-9))
    opening[spoken()[-1] + 1 :] = 0
    path = np.cumsum(np.where(np.arange(round(frames)) % 2 == 0, step, -step))
    opening[at : at + len(path)] = path[: len(opening) - at]
    opening[at + len(path) :] = path[-1]
    return seen(opening, width)


CASES = {
    # ITU-R BT.1359-1 (1998): noticed beyond 45 ms late and 125 ms early; frames are 41.7 ms apart.
    "lipsync.late_ms": Case(shifted, "offset", 0.0, 85.0, at=45.0, within=8.0),
    "lipsync.early_ms": Case(shifted, "offset", 0.0, -170.0, at=-125.0, within=8.0),
    "lipsync.related": Case(following, "unrelated", 1.0, 0.0, at=0.45, within=0.05),
    "lipsync.loudness": Case(as_loud, "loudness", 0.3, 1.0, at=0.8, within=0.05),
    "lipsync.loudness_ahead": Case(lambda share: as_loud(1.0, share), "loudness", 1.0, 0.5, at=1 - 0.1, within=0.05),
    "lipsync.closure_window": Case(closed_off, "closure", 0, 4, at=2, whole=True),
    "lipsync.lips_meet": Case(narrow_gap_at_m, "closure", 0.0, 0.13, at=0.03 + 0.005 * BARS, within=0.004),
    "lipsync.lips_meet_share": Case(gap_at_m, "closure", 0.0, 0.5, at=0.12 + 0.005 * BARS / 0.4, within=0.02),
    "lipsync.teeth_on_lip": Case(gap_at_f, "teeth_on_lip", 0.1, 0.95, at=0.45 + 0.005 * BARS / 0.4, within=0.03),
    "lipsync.round": Case(narrowed_at_w, "round", 0.2, -0.05, at=0.04 - WIDTH_ERROR * ROUND_BARS, within=0.005),
    "lipsync.spread": Case(pulled_at_n, "spread", 0.0, 0.5, at=0.12 + WIDTH_ERROR * BARS, within=0.01),
    "lipsync.jaw": Case(dropped_at_ae, "jaw", 0.9, 0.05, at=0.35 - 0.025 * BARS, within=0.03),
    "lipsync.sure": Case(unsure_gap, "closure", 0.55, 0.99, at=0.96, within=0.02),
    # One and a half strokes a syllable, and one more: 8.5 of five syllables.
    "lipsync.flutter": Case(strokes, "flutter", 5, 12, at=9, whole=True),
    "lipsync.dead_range": Case(stirring, "dead_mouth", 0.3, 0.0, at=0.03, within=0.002),
    "lipsync.fewest_frames": Case(known, "dead_mouth", 1, 20, at=6, whole=True),
    "lipsync.idle_margin_s": Case(lambda s: working(s, 4, 0.2), "idle", 0.0, 0.6, at=0.35, within=1 / 24),
    "lipsync.idle_speed": Case(lambda step: working(0.5, 8, step), "idle", 0.0, 0.2, at=0.03, within=0.002),
    "lipsync.idle_frames": Case(lambda n: working(0.5, n, 0.2), "idle", 1, 8, at=4, whole=True),
}
