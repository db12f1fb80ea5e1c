"""Forced alignment: given words and the sound they are in, when each word and each phone starts and ends, and how well the sound bears them out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from shotcrit.readings.sound.acoustic.line_graph import BETWEEN, LineGraph, line_graph
from shotcrit.readings.sound.acoustic.model import STATES, load_model
from shotcrit.readings.sound.acoustic.trellis import NOWHERE, best_path
from shotcrit.readings.sound.given import Phones
from shotcrit.readings.sound.listen import Listened, row_s


@dataclass(frozen=True)
class TimedPhone:
    """A phone in time, seconds from the start of the sound.

    gain : mean log likelihood a row of 10 ms, less that of whatever phones fit best there; 0 and over: nothing fits better
    """

    phone: str
    start_s: float
    end_s: float
    gain: float


@dataclass(frozen=True)
class Timed:
    """One word in time. way : which of its pronunciations fits; phones : all of them, one after the other."""

    way: int
    phones: tuple[TimedPhone, ...]

    @property
    def start_s(self) -> float:
        """Where its first phone starts."""
        return self.phones[0].start_s

    @property
    def end_s(self) -> float:
        """Where its last phone ends."""
        return self.phones[-1].end_s


def align_words(sound: Listened, words: Sequence[Sequence[Phones]], first: int = 0, stop: int | None = None) -> tuple[Timed, ...] | None:
    """Times of every word, each given by its pronunciations, in rows first .. stop - 1 of a sound; None when there is no room for them.

    words : phones with or without stress digits
    """
    rows, free = sound.rows[first:stop], sound.free[first:stop]
    if STATES * sum(min(map(len, ways)) for ways in words) > len(rows):  # each state of a phone takes a row
        return None
    model = load_model()
    line = line_graph(model, words) if words else None
    if line is None or line.graph is None or not len(rows):
        return None
    likelihood = line.likelihood(model, rows)
    path, score = best_path(line.graph, likelihood)
    if score <= NOWHERE / 2:
        return None
    gains = likelihood[np.arange(len(path)), path] - free
    return _words(line, path, gains, first, words)


def _words(line: LineGraph, path: np.ndarray, gains: np.ndarray, first: int, words: Sequence[Sequence[Phones]]) -> tuple[Timed, ...]:
    """The path cut where its phone changes."""
    found: list[list[TimedPhone]] = [[] for _ in words]
    ways = [0] * len(words)
    at = 0
    for (word, way, place), run in groupby((line.word[s], line.way[s], line.place[s]) for s in path):
        length = len(list(run))
        if word != BETWEEN:
            phone = words[word][way][place].rstrip("012")
            gain = float(gains[at : at + length].mean())
            found[word].append(TimedPhone(phone, row_s(first + at), row_s(first + at + length), gain))
            ways[word] = way
        at += length
    return tuple(Timed(way, tuple(phones)) for way, phones in zip(ways, found, strict=True))
