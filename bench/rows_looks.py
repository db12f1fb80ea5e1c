"""Looks: how many planted faults of rendered two-handers are found from their pixels, and how near and how sure a gaze is; seeds that nothing was tuned on."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt
from tests.make.gazing import gazing, misses
from tests.make.scored_looks import as_pictures, score

from bench.registry import Result, row

FIRST_SEED = 9100
COUNT = 40
GOAL = 0.85
"""Of both, at level 2."""

EYE_PX = 60.0
SLIP_PX = 0.6
"""How well a person places a mark: standard deviation, px (guess; what the reading takes for granted on eyes of this size)."""
FILMS = [(kind, seed) for kind in ("drawn", "solid") for seed in range(9300, 9303)]
COVERS = 1.645
"""Standard errors that cover 90 % of a normal variable."""


@cache
def _gazes(_work: Path) -> npt.NDArray[np.float64]:
    """[shape=(n, 2)] degrees off, and stated standard error."""
    return np.array([pair for kind, seed in FILMS for pair in misses(gazing(kind, EYE_PX, seed), SLIP_PX, seed)])


@row("looks", goal="median at most 2, 95th percentile at most 5 degrees")
def measure_gaze(work: Path) -> Result:
    """Median error of a gaze read from rendered eyes of 60 px, marks placed 0.6 px off, unknown lens, two renderers"""
    off = _gazes(work)[:, 0]
    median, far = float(np.median(off)), float(np.quantile(off, 0.95))
    return Result(median, f"95th percentile {far:.2f} degrees; {len(off)} gazes in {len(FILMS)} films", "degrees", median <= 2 and far <= 5)


@row("looks", goal="at least 90 %")
def measure_bars(work: Path) -> Result:
    """How many of these gazes lie within the bar that should hold 90 % of them"""
    off, bar = _gazes(work).T
    share = 100 * float(np.mean(off < COVERS * bar))
    return Result(share, f"a stated standard error is {np.median(bar):.1f} degrees at the median", "%", share >= 90)


@cache
def _found(_work: Path) -> tuple[float, float]:
    return score(as_pictures(FIRST_SEED, COUNT))


@row("looks", goal="at least 0.85")
def measure_recall(work: Path) -> Result:
    """Recall of planted faults in 40 rendered two-handers (eyes of 50 to 58 px, unknown lens), level 2"""
    recall, _ = _found(work)
    return Result(
        recall,
        "14 degrees too high or low, the wrong side of the lens, 9 degrees beside it; half of the scenes are right",
        "",
        recall >= GOAL,
    )


@row("looks", goal="at least 0.85")
def measure_precision(work: Path) -> Result:
    """Precision on the same scenes"""
    _, precision = _found(work)
    return Result(precision, f"seeds {FIRST_SEED} to {FIRST_SEED + COUNT - 1}", "", precision >= GOAL)
