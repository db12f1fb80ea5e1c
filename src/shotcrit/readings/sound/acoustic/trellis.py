"""The best way through states in time (Viterbi 1967), for any graph of states."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

NOWHERE = np.float32(-1e30)
"""Log probability of what cannot be; finite, so that sums of it stay numbers."""


@dataclass(frozen=True)
class Graph:
    """States and the ways between them.

    before : int [shape=(n_states, k)] the states that lead into each, itself first; n_states where there is none
    cost : float32 [shape=(n_states, k)] log probability of each of those steps
    start, end : float32 [shape=(n_states,)] log probability of beginning and ending there
    """

    before: Ints
    cost: Floats
    start: Floats
    end: Floats


def linked(
    stay: Floats, arcs: Sequence[tuple[int, int, float]], start: Sequence[tuple[int, float]], end: Sequence[tuple[int, float]]
) -> Graph:
    """From the log probability of staying in each state, arcs (from, to, log probability), and where one may begin and end."""
    count = len(stay)
    into: list[list[tuple[int, float]]] = [[(state, float(stay[state]))] for state in range(count)]
    for source, target, cost in arcs:
        into[target].append((source, cost))
    width = max(map(len, into))
    before = np.full((count, width), count, np.int64)
    costs = np.full((count, width), NOWHERE, np.float32)
    for state, ways in enumerate(into):
        before[state, : len(ways)], costs[state, : len(ways)] = zip(*ways, strict=True)
    return Graph(before, costs, _at(start, count), _at(end, count))


def _at(states: Sequence[tuple[int, float]], count: int) -> Floats:
    found = np.full(count, NOWHERE, np.float32)
    for state, cost in states:
        found[state] = max(found[state], cost)
    return found


def best_path(graph: Graph, likelihood: Floats) -> tuple[Ints, float]:
    """int [shape=(n,)] the state at each row of likelihood [float32, shape=(n, n_states)], and the path's log probability."""
    count, states = likelihood.shape
    came = np.empty((count, states), np.int8)
    score = np.append(graph.start + likelihood[0], NOWHERE)
    rows = np.arange(states)
    for at in range(1, count):
        ways = score[graph.before] + graph.cost
        best = ways.argmax(axis=1)
        came[at] = best
        score[:-1] = ways[rows, best] + likelihood[at]
    final = score[:-1] + graph.end
    path = np.empty(count, np.int64)
    path[-1] = int(final.argmax())
    for at in range(count - 1, 0, -1):
        path[at - 1] = graph.before[path[at], came[at, path[at]]]
    return path, float(final.max())
