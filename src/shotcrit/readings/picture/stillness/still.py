"""Which frames repeat the one before, within a noise that is estimated from the pictures themselves.

A frame that plainly moves is plain. What is left is either a repeat, with the noise of codec and grain in it, or a movement so slow that it is no larger
than that noise. Time tells them apart: each change of a repeat takes back what the last one added (noise has no memory of where it was going), so
changes on neighbouring frames point against each other or nowhere; a slow movement keeps pointing the same way in the same places.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.readings.picture.stillness.grid import CELLS, Cells, Floats, Movements, stretches, sureness

Flags = npt.NDArray[np.bool_]

CALM_SHIFT, CALM_PEAK = 25.0, 12.0
"""Standard errors, luma steps: below both a frame is calm enough to estimate noise from (guess: three times the worst
repeat seen at CRF 30 with grain, and half of what an acting figure makes)."""
PEAK_BASE, PEAK_TIMES = 3.0, 6.0
"""A block's change above PEAK_BASE + PEAK_TIMES x the calm frames' median is plain movement; luma steps (guess: key frames pulse to five times the median)."""
SHIFT_BASE, SHIFT_TIMES = 6.0, 3.0
"""The same for the second surest shift, standard errors (guess)."""
EASE_BASE, EASE_TIMES = (1.5, 3.0), 1.5
"""Block change in luma steps, shift in standard errors, and times the calm frames' median: beside plain movement and in its direction, a change over both
is the movement's ease (guess, half of the plain ones)."""
LIGHT_ERROR = 0.2
"""Standard error of a cell's mean as a part of its pixels' change (guess: codec noise is alike over some 6 x 6 px of a cell's 30 x 30)."""
LEAST_STEP = 0.05
"""Luma steps added to the error of a cell's mean (rounding of 8-bit pictures)."""
MOST_SAY = 6.0
"""Standard errors at which a cell's say is capped, so that one cell never outvotes the picture (guess)."""
REACH = 4
"""Frames either side whose changes a frame's own is compared with (guess; of 2 and 4 frames, 4 told a drift from noise without a miss)."""
SAME_WAY = 4.5
"""Standard errors by which a frame's change points the way its neighbours' do, above which it is movement. Measured on generated films at CRF 0, 24
and 30, four kinds of grain, two generators: between 3.4 and 4.5 no frame of a drift of 0.3 px (of 1920) is taken for a repeat, nor the reverse."""
SAME_SHARE = 0.12
"""Least cosine between the two as well: a large change that hardly points the same way is noise (guess)."""
FILL = 2
"""Frames: inside a slow drift an encoder hides some steps and makes them up later; so short a stop there is no hold (guess)."""
FILL_END = 1
"""The same at the first or last frame of a stretch, where there are neighbours on one side only."""
STRETCH = 256
"""Frames whose changes are reckoned at a time, so that a long hold does not fill the memory."""
LEAST_FIELD = 2.0
"""Length of the field of changes, in standard errors over the whole picture, under which nothing can hide in it: an exact repeat (guess)."""


@dataclass(frozen=True)
class Stillness:
    """repeats : bool [shape=(n,)]; [0] is False. noise : RMS of an unchanged picture's change, 8-bit luma steps; nan where nothing was still."""

    repeats: Flags
    noise: float


def find_repeats(cells: Movements) -> Stillness:
    """Repeats of the whole picture."""
    sure, peak = _greatest(cells)
    calm = ~cells.warped & (sure < CALM_SHIFT) & (peak < CALM_PEAK)
    calm[0] = False
    if not calm.any():
        return Stillness(calm, float("nan"))
    floor_peak, floor_sure = float(np.median(peak[calm])), float(np.median(sure[calm]))
    low = calm & (peak <= PEAK_BASE + PEAK_TIMES * floor_peak)
    quiet = _with_settling(low & (sure <= SHIFT_BASE + SHIFT_TIMES * floor_sure), low, cells)
    loud = (peak > EASE_BASE[0] + EASE_TIMES * floor_peak) & (sure > EASE_BASE[1] + EASE_TIMES * floor_sure)
    moving = np.zeros(len(cells), np.bool_)
    for run in runs(quiet):
        moving[run.start : run.stop] = _moving(cells, run, loud)
    repeats = quiet & ~moving
    return Stillness(repeats, float(np.median(_rests(cells, repeats))) if repeats.any() else float("nan"))


def _with_settling(quiet: Flags, low: Flags, cells: Movements) -> Flags:
    """The quiet frames, and the first repeat after a movement: an encoder that saves on moving pictures makes up for it there, surely and a little everywhere,
    but not in the movement's direction (HEVC at CRF 20 to 28: up to 15 standard errors, luma steps as of any repeat)."""
    out = quiet.copy()
    for run in runs(quiet):
        i = run.start - 1
        if i > 1 and low[i]:
            field = change_field(cells, max(0, i - REACH), i + 1)
            out[i] = not _points_along(field[-1], field[:-1].sum(axis=0))
    return out


def _greatest(cells: Movements) -> tuple[Floats, Floats]:
    """Of each frame the second surest cell's shift, standard errors, and the greatest change of a block, luma steps: [shape=(n,)]."""
    sure, peak = [np.zeros(0, np.float32)], [np.zeros(0, np.float32)]
    for part in cells.parts():
        sure.append(np.sort(sureness(part.shift, part.certainty).reshape(len(part), -1), axis=1)[:, -2].copy())
        peak.append(part.peak.reshape(len(part), -1).max(axis=1))
    return np.concatenate(sure), np.concatenate(peak)


def _rests(cells: Movements, frames: Flags) -> Floats:
    """The rest of every cell of `frames`, luma steps: float32 [shape=(k, 9, 16)]."""
    return np.concatenate([part.rest[frames[at.start : at.stop]] for at, part in zip(stretches(len(cells)), cells.parts(), strict=True)])


def _moving(cells: Movements, run: Span, loud: Flags) -> Flags:
    """Which frames of a quiet stretch move after all: those of a slow drift, and the eases of the movement beside it. loud : of all frames"""
    first, stop = max(0, run.start - 1), min(len(cells), run.stop + 1)
    field = change_field(cells, first, stop)
    moving = _drifts(field[run.start - first : run.stop - first])
    for inward in (range(run.start, run.stop), range(run.last, run.start - 1, -1)):
        for i in inward:
            if not (loud[i] and 0 < i - inward.step < len(cells) and _goes_on(field, i - first, i - inward.step - first)):
                break
            moving[i - run.start] = True
    return moving


def change_field(cells: Movements, first: int, stop: int) -> Floats:
    """float32 [shape=(n, 432)] what changed where on frames first .. stop - 1, each in its own standard errors and capped: shift x, shift y, mean luma."""
    fields = [np.zeros((0, 3 * CELLS), np.float32)]
    for at in range(first, stop, STRETCH):
        before = max(at - 1, 0)
        fields.append(_changed(cells.part(before, min(at + STRETCH, stop)))[at - before :])
    return np.concatenate(fields)


def _changed(part: Cells) -> Floats:
    """The same of a stretch, whose first frame has nothing before it."""
    n = len(part)
    sure = sureness(part.shift, part.certainty)[..., None]
    length = np.linalg.norm(part.shift, axis=-1, keepdims=True)
    field = part.shift / np.maximum(length, 1e-9) * np.minimum(sure, MOST_SAY)
    light = np.diff(part.mean, axis=0, prepend=part.mean[:1])
    light = np.clip(light / (LEAST_STEP + LIGHT_ERROR * part.rest), -MOST_SAY, MOST_SAY)
    return np.concatenate([field.reshape(n, -1), light.reshape(n, -1)], axis=1).astype(np.float32)


def _drifts(field: Floats) -> Flags:
    """Which frames of a quiet stretch move on slowly: bool [shape=(n,)] for fields [shape=(n, k)]."""
    n = len(field)
    along = np.zeros(n, np.bool_)
    for i in range(n):
        others = field[max(0, i - REACH) : i + REACH + 1].sum(axis=0) - field[i]
        along[i] = _points_along(field[i], others)
    beside = np.zeros(n, np.bool_)
    for i in map(int, np.flatnonzero(along)):
        beside[i] = along[max(0, i - REACH) : i + REACH + 1].sum() > FILL
    for gap in runs(~beside):
        inside = gap.start > 0 and gap.stop < n
        if len(gap) < n and len(gap) <= (FILL if inside else FILL_END) and all(np.linalg.norm(field[i]) > LEAST_FIELD for i in gap):
            beside[gap.start : gap.stop] = True
    return beside


def _points_along(one: Floats, others: Floats) -> bool:
    length, far = float(np.linalg.norm(one)), float(np.linalg.norm(others))
    if length < LEAST_FIELD or far < LEAST_FIELD:
        return False
    along = float(one @ others) / far
    return along > SAME_WAY and along > SAME_SHARE * length


def _goes_on(field: Floats, end: int, beside: int) -> bool:
    """Whether the quiet frame at a stretch's end carries on the movement of the frame beside it: an ease, not a repeat."""
    return _points_along(field[end], field[beside])
