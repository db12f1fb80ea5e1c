"""Movement: how many planted pops, hitches and lone bobs are found in a hundred made-up performances each, and what is told of clean ones; gravity's error."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
from tests.make.motions import Motion, body, with_bob, with_hitch, with_pop
from tests.make.thrown import beside_ada, thrown

from bench.registry import Result, row
from shotcrit.checks import echo, gravity
from shotcrit.checks.about import Check
from shotcrit.checks.arc import check as arc
from shotcrit.checks.registry import limits_for

FIRST_SEED, COUNT = 5000, 100
"""Seeds that nothing was tuned on."""
GOAL = 0.9
STATURE = 1.7


def _score(maker: Callable[[int], Motion], check: Check, level: int) -> tuple[float, float]:
    """(recall, precision) over COUNT performances with one fault each."""
    found = false = 0
    limits = limits_for(check, {})
    for seed in range(FIRST_SEED, FIRST_SEED + COUNT):
        motion = maker(seed)
        (fault,) = motion.planted
        told = check.run(motion.readings(level, seed), limits).findings
        near = [f for f in told if f.kind == fault.kind and f.span.start <= fault.last + 1 and f.span.last >= fault.first - 1]
        found += bool(near)
        false += len(told) - len(near)
    return found / COUNT, found / max(found + false, 1)


def _told(maker: Callable[[int], Motion], check: Check) -> Result:
    scores = [_score(maker, check, level) for level in (2, 3)]
    least = min(min(pair) for pair in scores)
    note = "; ".join(f"level {level}: recall {r:.2f}, precision {p:.2f}" for level, (r, p) in zip((2, 3), scores, strict=True))
    return Result(least, note, "the least of recall and precision", least >= GOAL)


@row("motion", goal="at least 0.9")
def measure_pops(work: Path) -> Result:
    """Pops of 2 to 6 cm planted in 100 performances, levels 2 and 3"""
    return _told(with_pop, arc)


@row("motion", goal="at least 0.9")
def measure_hitches(work: Path) -> Result:
    """Hitches of one or two frames planted in 100 performances, levels 2 and 3"""
    return _told(with_hitch, arc)


@row("motion", goal="at least 0.9")
def measure_bobs(work: Path) -> Result:
    """Lone bobs of 3 to 6 cm planted in 100 performances, levels 2 and 3"""
    return _told(with_bob, echo)


@row("motion", goal="at most 1 a minute")
def measure_clean(work: Path) -> Result:
    """What arc and echo say of 100 clean performances, levels 2 and 3, a minute"""
    told = seconds = 0.0
    for seed in range(FIRST_SEED, FIRST_SEED + COUNT):
        motion = Motion(body(seed))
        for level in (2, 3):
            readings = motion.readings(level, seed)
            seconds += len(readings.clock) / float(readings.movie.rate)
            told += sum(len(check.run(readings, limits_for(check, {})).findings) for check in (arc, echo))
    return Result(60 * told / seconds, f"{told:.0f} findings in {seconds:.0f} s", "findings a minute", told <= seconds / 60)


@cache
def _gravity(level: int) -> np.ndarray:
    off = []
    for seed in range(FIRST_SEED, FIRST_SEED + 20):
        random = np.random.default_rng(seed)
        true = float(random.uniform(5, 15))
        way = thrown(true, up=float(random.uniform(2.0, 4.0)), along=float(random.uniform(0, 1.5)))
        flown = gravity.flights_of(beside_ada(way, level=level, seed=seed), STATURE)
        off += [abs(one.flight.acceleration / true - 1) for one in flown]
    return np.array(off)


@row("motion", goal="at most 3 %")
def measure_gravity_scene(work: Path) -> Result:
    """Worst error of a fall's acceleration in metres, 20 throws by an outside integrator"""
    off = 100 * _gravity(3)
    return Result(float(off.max()), f"{len(off)} flights, median {np.median(off):.2f} %", "%", bool(off.max() <= 3))


@row("motion", goal="at most 8 %")
def measure_gravity_picture(work: Path) -> Result:
    """The same in pictures, by the height of somebody who stands beside"""
    off = 100 * _gravity(2)
    return Result(float(off.max()), f"{len(off)} flights, median {np.median(off):.2f} %", "%", bool(off.max() <= 8))
