from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from shotcrit.takes.monotone import LEAP, Prices, best_way, second_thoughts

PRICES = Prices((0.05, 0.0, 0.05, 0.1), leap=1.0, enter=0.5, ends=0.5)


def _series(seed: int, way: np.ndarray, length: int = 120) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    old = np.cumsum(rng.normal(size=(length, 8)), axis=0)
    new = np.array([old[i] if i >= 0 else rng.normal(size=8) * 40 for i in way]) + rng.normal(size=(len(way), 8)) * 0.1
    square = ((new[:, None] - old[None]) ** 2).sum(-1)
    return (square / (square + 1)).astype(np.float32), np.full(len(way), 0.8, np.float32)


@pytest.mark.parametrize(
    "way",
    [
        np.arange(120),
        np.r_[7:120],
        np.r_[0:40, [39] * 8, 40:120],
        np.r_[0:30, 60:120],
        np.r_[[-1] * 9, 0:120],
        np.r_[0:50, [-1] * 6, 50:110],
        np.r_[3:20, [-1] * 6, 44:90],
    ],
    ids=["as it was", "head trimmed", "held", "cut", "slate", "inserted", "another piece in place of one"],
)
def test_a_known_way_is_found(way: np.ndarray) -> None:
    costs, strange = _series(4, way)
    assert best_way(costs, strange, PRICES).tolist() == way.tolist()


def test_the_best_way_is_as_cheap_as_the_cheapest_of_all_ways() -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        costs = rng.random((6, 7)).astype(np.float32)
        strange = rng.uniform(0.2, 0.8, 6).astype(np.float32)
        assert _price(best_way(costs, strange, PRICES), costs, strange) == pytest.approx(_cheapest(costs, strange), abs=1e-5)


def test_second_thoughts_cost_nothing_on_the_best_way_and_something_elsewhere() -> None:
    way = np.arange(120)
    costs, strange = _series(5, way)
    dearer = second_thoughts(costs, strange, PRICES)
    assert dearer[way, way].max() < 1e-3
    assert dearer[way[:-9], way[9:]].min() > 0.5


def _price(way: np.ndarray, costs: np.ndarray, strange: np.ndarray) -> float:
    """What a way pays, added up one frame after the other."""
    total, before, out = 0.0, -1, False
    for j, at in enumerate(way.tolist()):
        if at < 0:
            total += float(strange[j]) + (0 if out else PRICES.enter)
        else:
            step = at - before
            if before < 0:
                total += 0.0 if step == 1 else PRICES.ends
            elif not (out and step == 1):
                total += PRICES.steps[step] if not out and step < LEAP else PRICES.leap
            total += float(costs[j, at])
        out, before = at < 0, before if at < 0 else at
    return total + (0.0 if before == costs.shape[1] - 1 else PRICES.ends)


def _cheapest(costs: np.ndarray, strange: np.ndarray) -> float:
    """All ways, tried."""
    rows, n = costs.shape

    @cache
    def go(j: int, before: int, out: bool) -> float:
        if j == rows:
            return 0.0 if before == n - 1 else PRICES.ends
        best = float(strange[j]) + (0 if out else PRICES.enter) + go(j + 1, before, True)
        for at in range(max(before, 0), n):
            step = at - before
            if before < 0:
                toll = 0.0 if step == 1 else PRICES.ends
            elif out:
                toll = 0.0 if step == 1 else PRICES.leap if step >= LEAP else None
            else:
                toll = PRICES.steps[step] if step < LEAP else PRICES.leap
            if toll is not None:
                best = min(best, toll + float(costs[j, at]) + go(j + 1, at, False))
        return best

    return go(0, -1, False)
