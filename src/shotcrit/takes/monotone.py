"""The cheapest way through two series that only ever goes forward: which row of the old each row of the new repeats, or that it is new.

      old ->  0  1  2  3  4  5
    new 0     x                      a step of 1: as it was
        1        x
        2        x                   a step of 0: held
        3                 x          a leap: 2 and 3 of the old are gone
        +                            inserted: stands for nothing of the old
        5                    x

Viterbi's algorithm (1967) on two layers, matched and inserted; whole rows at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Steps = npt.NDArray[np.int64]

FAR = np.float32(1e9)
LEAP = 4
"""Steps from here on are leaps: part of the old is gone."""
_INSERTED = -2


@dataclass(frozen=True)
class Prices:
    """What a way pays, in the unit of the costs.

    steps : for going 0, 1, 2 and 3 rows of the old on; leap : for going farther, however far
    enter : for beginning an insertion; ends : for leaving out a beginning or an end of the old
    """

    steps: tuple[float, float, float, float]
    leap: float
    enter: float
    ends: float


def best_way(costs: Floats, inserted: Floats, prices: Prices) -> Steps:
    """int64 [shape=(m,)]: the row of the old that each row of the new repeats, never falling; -1 where it is inserted.

    costs : float32 [shape=(m, n)], of new row j being old row i; FAR where that is out of the question
    inserted : float32 [shape=(m,)], of new row j standing for nothing
    """
    came_matched, came_inserted, last_matched, last_inserted = _forward(costs, inserted, prices)
    return _back(came_matched, came_inserted, last_matched, last_inserted, prices)


def second_thoughts(costs: Floats, inserted: Floats, prices: Prices) -> Floats:
    """float32 [shape=(m, n)]: how much dearer the whole way gets when new row j has to be old row i; 0 on the best way."""
    ahead = _totals(costs, inserted, prices)
    behind = _totals(costs[::-1, ::-1], inserted[::-1], prices)[::-1, ::-1]
    whole = ahead + behind - costs
    return np.asarray(whole - whole.min(), np.float32)


def _start(row: Floats, first: np.float32, prices: Prices) -> tuple[Floats, Floats]:
    """Matched [shape=(n,)] and inserted [shape=(n + 1,)] before anything was compared; inserted k stands after old row k - 1."""
    matched = row + np.float32(prices.ends)
    matched[0] = row[0]
    inserted = np.full(len(row) + 1, FAR, np.float32)
    inserted[0] = first + np.float32(prices.enter)
    return matched, inserted


def _moves(matched: Floats, inserted: Floats, prices: Prices) -> tuple[Floats, Floats]:
    """The cheapest arrival at each old row, before its own cost: [shape=(6, n)] by step 0..3, leap, out of an insertion; and the running least."""
    n = len(matched)
    ways = np.full((6, n), FAR, np.float32)
    for step, price in enumerate(prices.steps):
        ways[step, step:] = matched[: n - step] + np.float32(price)
    least = np.minimum.accumulate(np.minimum(matched, np.minimum(inserted[1:], FAR)))
    ways[4, LEAP:] = least[: n - LEAP] + np.float32(prices.leap)
    ways[4, 1:] = np.minimum(ways[4, 1:], inserted[0] + np.float32(prices.ends))
    ways[5] = inserted[:n]
    return ways, least


def _totals(costs: Floats, inserted: Floats, prices: Prices) -> Floats:
    rows, n = costs.shape
    total = np.empty((rows, n), np.float32)
    matched, outside = _start(costs[0].copy(), inserted[0], prices)
    total[0] = matched
    for j in range(1, rows):
        ways, _ = _moves(matched, outside, prices)
        outside = _outside(matched, outside, inserted[j], prices)[0]
        matched = ways.min(axis=0) + costs[j]
        total[j] = matched
    return total


def _outside(matched: Floats, outside: Floats, price: np.float32, prices: Prices) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Inserted, one row on; and where the insertion began just now."""
    entered = np.full_like(outside, FAR)
    entered[1:] = matched + np.float32(prices.enter)
    begun = entered < outside
    return np.where(begun, entered, outside) + price, begun


def _forward(costs: Floats, inserted: Floats, prices: Prices) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.int32], Floats, Floats]:
    """Where each state came from: a matched row >= 0, or _INSERTED - k out of the insertion after old row k - 1; and the last totals."""
    rows, n = costs.shape
    came = np.full((rows, n), -1, np.int32)
    came_out = np.full((rows, n + 1), -1, np.int32)
    own = np.arange(n, dtype=np.int32)
    matched, outside = _start(costs[0].copy(), inserted[0], prices)
    for j in range(1, rows):
        ways, least = _moves(matched, outside, prices)
        step = ways.argmin(axis=0)
        came[j] = np.where(step < LEAP, own - step, _INSERTED - own)
        leapt = np.flatnonzero(step == LEAP)
        came[j, leapt] = _sources(leapt, least, matched, outside, prices)
        arrived, begun = _outside(matched, outside, inserted[j], prices)
        came_out[j, 1:] = np.where(begun[1:], own, _INSERTED - np.arange(1, n + 1))
        came_out[j, 0] = _INSERTED
        matched, outside = ways[step, own] + costs[j], arrived
    return came, came_out, matched, outside


def _sources(leapt: Steps, least: Floats, matched: Floats, outside: Floats, prices: Prices) -> npt.NDArray[np.int32]:
    """Where the leaps to these old rows began."""
    if len(leapt) == 0:
        return np.zeros(0, np.int32)
    both = np.minimum(matched, outside[1:])
    drops = both <= least  # a new least stands here
    last = np.maximum.accumulate(np.where(drops, np.arange(len(both)), -1))
    at = last[np.maximum(leapt - LEAP, 0)]
    out = outside[1:][at] < matched[at]
    source = np.where(out, _INSERTED - (at + 1), at)
    fresh = outside[0] + np.float32(prices.ends) < np.where(leapt >= LEAP, least[np.maximum(leapt - LEAP, 0)] + prices.leap, FAR)
    return np.where(fresh, _INSERTED, source).astype(np.int32)


def _back(came: npt.NDArray[np.int32], came_out: npt.NDArray[np.int32], matched: Floats, outside: Floats, prices: Prices) -> Steps:
    rows, n = came.shape
    tail = np.full(n, prices.ends, np.float32)
    tail[-1] = 0
    ends, ends_out = matched + tail, outside + np.append(np.float32(prices.ends), tail)
    here, out = (int(ends.argmin()), False) if ends.min() <= ends_out.min() else (int(ends_out.argmin()), True)
    found = np.full(rows, -1, np.int64)
    for j in range(rows - 1, -1, -1):
        if not out:
            found[j] = here
        source = int((came_out if out else came)[j, here])
        out = source <= _INSERTED
        here = _INSERTED - source if out else source
    return found
