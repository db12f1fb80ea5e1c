"""Rows of the bench: small functions that measure ratios side by side. A file rows_*.py beside this one adds its own.

@row("media", goal="at most 4")
def measure_against_decoding(work: Path) -> Result: ...
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter


@dataclass(frozen=True)
class Result:
    """value : a ratio, or a number with its unit in `unit`. Everything in it was measured in this run. note : what was compared."""

    value: float
    note: str
    unit: str = "times"
    reached: bool | None = None


@dataclass(frozen=True)
class Row:
    name: str
    part: str
    goal: str
    run: Callable[[Path], Result]


ROWS: list[Row] = []


def row(part: str, *, goal: str = "") -> Callable[[Callable[[Path], Result]], Callable[[Path], Result]]:
    """Register a measuring function; it gets a scratch folder that all rows of a run share. Its first docstring line is its name."""

    def add(run: Callable[[Path], Result]) -> Callable[[Path], Result]:
        ROWS.append(Row((run.__doc__ or run.__name__).splitlines()[0].rstrip("."), part, goal, run))
        return run

    return add


def seconds(work: Callable[[], object]) -> float:
    """Wall-clock seconds that a piece of work takes."""
    begin = perf_counter()
    work()
    return perf_counter() - begin


def ratio(work: Callable[[], object], against: Callable[[], object], *, rounds: int = 3) -> float:
    """How many times as long `work` takes as `against`: the middle of `rounds`, each set between two runs of `against`.

    So a machine that slows down or speeds up meanwhile does not pass for a difference between the two.
    """
    found = []
    for _ in range(rounds):
        before = seconds(against)
        taken = seconds(work)
        found.append(2 * taken / (before + seconds(against)))
    return sorted(found)[len(found) // 2]
