"""A line as a graph of the model's states: its words in order, each in any of its ways, with or without a pause before, between and after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from shotcrit.readings.sound.acoustic.model import BEGINS, ENDS, INSIDE, SINGLE, STATES, AcousticModel
from shotcrit.readings.sound.acoustic.scores import phone_scores
from shotcrit.readings.sound.acoustic.trellis import Graph, linked
from shotcrit.readings.sound.given import Phones

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

PAUSES = (("SIL", -3.0), ("+NSN+", -6.0), ("+SPN+", -6.0))
"""Silence, noises and sounds of the mouth, with the log probability of one before a word; that of none is 0 (guess)."""
NO_PAUSE_FIRST = -1.0
"""Of a line that starts with its first word: there is mostly some silence in what it is looked for in (guess)."""
BETWEEN = -1
"""Word number of what lies between words."""


@dataclass
class LineGraph:
    """states: which phone, senone, state of the phone, word, way and phone of the word each is; `graph` the ways between them."""

    phone: list[int] = field(default_factory=list)
    senone: list[int] = field(default_factory=list)
    step: list[int] = field(default_factory=list)
    word: list[int] = field(default_factory=list)
    way: list[int] = field(default_factory=list)
    place: list[int] = field(default_factory=list)
    graph: Graph | None = None

    def likelihood(self, model: AcousticModel, rows: Floats) -> Floats:
        """float32 [shape=(n, n_states)]; each senone is reckoned once."""
        found = np.empty((len(rows), len(self.phone)), np.float32)
        phones, senones = np.array(self.phone), np.array(self.senone)
        for phone in np.unique(phones):
            own = np.flatnonzero(phones == phone)
            unlike, which = np.unique(senones[own], return_inverse=True)
            found[:, own] = phone_scores(model, rows, int(phone), unlike)[:, which]
        return found


Exit = tuple[int, float]
"""A state that a next word can follow, and the log probability of leaving it."""


class _Build:
    def __init__(self, model: AcousticModel) -> None:
        self.model, self.line = model, LineGraph()
        self.arcs: list[tuple[int, int, float]] = []

    def chain(self, phone: int, senones: Ints, word: int, way: int, place: int) -> int:
        """The three states of a phone; returns the first."""
        line, first = self.line, len(self.line.phone)
        for step in range(STATES):
            line.phone.append(phone)
            line.senone.append(int(senones[step]))
            line.step.append(step)
            line.word.append(word)
            line.way.append(way)
            line.place.append(place)
        self.arcs += [(first + k, first + k + 1, float(self.model.leave[phone, k])) for k in range(STATES - 1)]
        return first

    def out(self, first: int) -> Exit:
        return first + STATES - 1, float(self.model.leave[self.line.phone[first], STATES - 1])

    def pauses(self) -> list[tuple[int, float]]:
        """One state chain for each kind of pause, with its cost."""
        numbers = [(self.model.number(name), cost) for name, cost in PAUSES]
        return [(self.chain(n, self.model.alone[n], BETWEEN, 0, k), cost) for k, (n, cost) in enumerate(numbers)]

    def way(self, phones: Sequence[int], left: int, right: int, word: int, way: int) -> list[int]:
        """The chain of one pronunciation: the first states of its phones."""
        firsts: list[int] = []
        for k, phone in enumerate(phones):
            place = SINGLE if len(phones) == 1 else BEGINS if k == 0 else ENDS if k == len(phones) - 1 else INSIDE
            before, after = phones[k - 1] if k else left, phones[k + 1] if k + 1 < len(phones) else right
            firsts.append(self.chain(phone, self.model.senones(phone, before, after, place), word, way, k))
            if k:
                state, cost = self.out(firsts[-2])
                self.arcs.append((state, firsts[-1], cost))
        return firsts


def line_graph(model: AcousticModel, words: Sequence[Sequence[Phones]]) -> LineGraph:
    """words : the pronunciations of each word, phones with or without stress digits.

    The phones beside a word, for its company, are those of the first pronunciation of its neighbours.
    """
    build = _Build(model)
    numbers = [[[model.number(p.rstrip("012")) for p in way] for way in ways] for ways in words]
    silence = model.number("SIL")
    opening = build.pauses()
    start = [(first, cost) for first, cost in opening]
    exits: list[Exit] = [build.out(first) for first, _ in opening]
    for word, ways in enumerate(numbers):
        left = numbers[word - 1][0][-1] if word else silence
        right = numbers[word + 1][0][0] if word + 1 < len(numbers) else silence
        chains = [build.way(phones, left, right, word, way) for way, phones in enumerate(ways)]
        build.arcs += [(state, firsts[0], cost) for firsts in chains for state, cost in exits]
        if word == 0:
            start += [(firsts[0], NO_PAUSE_FIRST) for firsts in chains]
        spoken = [build.out(firsts[-1]) for firsts in chains]
        after = build.pauses()
        build.arcs += [(state, first, leaving + cost) for state, leaving in spoken for first, cost in after]
        exits = [*spoken, *(build.out(first) for first, _ in after)]
    stay = model.stay[np.array(build.line.phone), np.array(build.line.step)]
    build.line.graph = linked(stay, build.arcs, start, [(state, 0.0) for state, _ in exits])
    return build.line
