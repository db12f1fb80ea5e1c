"""Where each line lies in what was heard: the lines' phones are matched with the phones that the recogniser heard freely.

Local alignment (Smith & Waterman 1981, J. Mol. Biol. 147:195-197) with linear gap costs; lines are laid out in the order given, any of them
may be missing, and anything may be heard between them. A line that fits nowhere in that order is then looked for everywhere else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.listen import Heard
from shotcrit.readings.sound.phoneset import PHONES, likeness

GAP = 0.5
"""Cost of a phone too many or too few, where a phone heard right gains 1 (guess)."""
SKIP = 0.5
"""Cost of leaving out a phone of the line, same scale (guess)."""
LEAST_FIT = 0.28
SHORT_LINE = 0.5
"""A line of n phones was spoken when its gain per phone reaches LEAST_FIT + SHORT_LINE / n: few phones match by chance more easily.

Measured on ten sentences by five synthetic voices: the sentence that was said gained 0.50 or more, another of the ten 0.22 or less.
"""
_NONE = -1

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Place:
    """Where a line was heard: phones first .. stop-1 of what was heard; `fit` gain per phone (1 = heard perfectly)."""

    first: int
    stop: int
    fit: float


def least_fit(phones: int) -> float:
    """The gain per phone that a line of so many phones has to reach."""
    return LEAST_FIT + SHORT_LINE / max(1, phones)


def _too_long(phones: int, heard: int) -> bool:
    """Whether a line has more phones than can have been said in what was heard, though each of those were heard right."""
    return heard - SKIP * (phones - heard) < least_fit(phones) * phones


_NAMES = list(PHONES)
_LIKENESS = np.array([[likeness(a, b) for b in _NAMES] for a in _NAMES])
"""float64 [shape=(39, 39)], rows: the phone of the line."""


def codes(phones: Sequence[str]) -> Ints:
    """Phones as row numbers of the likeness table."""
    return np.array([_NAMES.index(p) for p in phones], np.int64)


def _lay(line: Ints, heard: Ints, entry: Floats) -> tuple[Floats, Ints]:
    """Match one line against all that was heard.

    entry : float64 [shape=(n+1,)] the gain so far when the line starts before phone j
    Returns, per j, the best gain with the line ending before phone j, and the j where that line started.
    """
    steps = np.arange(len(heard) + 1)
    score, origin = entry.copy(), steps.copy()
    for phone in line:
        down = score - SKIP
        across = np.full_like(score, -np.inf)
        across[1:] = score[:-1] + _LIKENESS[phone, heard]
        best, source = np.maximum(down, across), origin.copy()
        moved = across > down
        source[1:][moved[1:]] = origin[:-1][moved[1:]]
        slid = best + GAP * steps  # a phone heard too many costs GAP: a running maximum of the score on a slope
        at = np.maximum.accumulate(np.where(slid >= np.maximum.accumulate(slid), steps, 0))
        score, origin = slid[at] - GAP * steps, source[at]
    return score, origin


def place_lines(lines: Sequence[Ints], heard: Sequence[Heard]) -> list[Place | None]:
    """A place for each line, or None where it was not heard. Places never overlap."""
    if not heard:
        return [None] * len(lines)
    sound = codes([h.phone for h in heard])
    places = _in_order(lines, sound)
    for index in [i for i, p in enumerate(places) if p is None]:
        places[index] = _anywhere(lines[index], sound, [p for p in places if p is not None])
    return places


def _in_order(lines: Sequence[Ints], sound: Ints) -> list[Place | None]:
    entry = np.zeros(len(sound) + 1)
    trail: list[tuple[Ints, Ints, Floats]] = []
    for line in lines:
        if _too_long(len(line), len(sound)):
            nowhere = np.full(len(entry), _NONE)
            trail.append((nowhere, nowhere, np.zeros(len(entry))))
            continue
        score, origin = _lay(line, sound, entry)
        gain = score - entry[origin]
        score = np.where(gain >= least_fit(len(line)) * len(line), score, -np.inf)
        ended = np.maximum.accumulate(score)
        at = np.maximum.accumulate(np.where(score >= ended, np.arange(len(score)), 0))
        taken = ended > entry
        trail.append((np.where(taken, at, _NONE), origin, gain))
        entry = np.where(taken, ended, entry)
    return _walk_back(lines, trail, len(sound))


def _walk_back(lines: Sequence[Ints], trail: list[tuple[Ints, Ints, Floats]], end: int) -> list[Place | None]:
    places: list[Place | None] = [None] * len(lines)
    for index in range(len(lines) - 1, -1, -1):
        at, origin, gain = trail[index]
        stop = int(at[end])
        if stop != _NONE and len(lines[index]):
            places[index] = Place(int(origin[stop]), stop, float(gain[stop]) / len(lines[index]))
            end = int(origin[stop])
    return places


def _anywhere(line: Ints, sound: Ints, taken: Sequence[Place]) -> Place | None:
    """The best free place for a line that the order has no room for."""
    best: Place | None = None
    for first, stop in _free(len(sound), taken):
        if _too_long(len(line), stop - first):
            continue
        score, origin = _lay(line, sound[first:stop], np.zeros(stop - first + 1))
        end = int(score.argmax())
        fit = float(score[end]) / max(1, len(line))
        if fit >= least_fit(len(line)) and (best is None or fit > best.fit):
            best = Place(first + int(origin[end]), first + end, fit)
    return best


def _free(count: int, taken: Sequence[Place]) -> list[tuple[int, int]]:
    edges = [(0, 0), *sorted((p.first, p.stop) for p in taken), (count, count)]
    return [(a[1], b[0]) for a, b in pairwise(edges) if b[0] > a[1]]
