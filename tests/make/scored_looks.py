"""Sets of generated two-handers, half of them with a planted fault, and how many of the faults a check finds. For tests and bench."""

from __future__ import annotations

from collections.abc import Iterator

from shotcrit.checks.eyeline import check as eyeline
from shotcrit.checks.registry import limits_for
from shotcrit.readings.bundle import Readings
from tests.make.rendered_looks import Planted, rendered_look
from tests.make.reverse_shots import reverse_shots, stage
from tests.make.two_hander import Fault, at_level_2, two_hander

LIMITS = limits_for(eyeline, {})
MISSES = {"off_target", "do_not_meet", "heights"}
Scenes = Iterator[tuple[bool, Readings]]


def flagged(readings: Readings) -> bool:
    """Whether the check says of any look that it misses."""
    return any(f.kind in MISSES for f in eyeline.run(readings, LIMITS).findings)


def score(scenes: Scenes) -> tuple[float, float]:
    """(recall, precision) over scenes told to be faulty or not; raises ValueError where not about half of them are."""
    told = [(faulty, flagged(readings)) for faulty, readings in scenes]
    planted = sum(faulty for faulty, _ in told)
    if not 0.4 <= planted / len(told) <= 0.6:
        raise ValueError(f"{planted} of {len(told)} scenes are faulty; plant half of them")
    hits = sum(faulty and seen for faulty, seen in told)
    return hits / planted, hits / max(sum(seen for _, seen in told), 1)


def in_one_picture(level: int, first: int) -> Scenes:
    """Forty by numbers: four kinds of look in turn, four good ones after four faulty ones. first : seed of the first"""
    side = 8.0 if level == 3 else 12.0
    for k in range(40):
        faulty, at_lens, way = (k // 4) % 2 == 0, k % 4 == 3, 1 if k % 8 < 4 else -1
        fault = (Fault(up=6), Fault(up=-6), Fault(right=side * way), Fault(right=9.0 * (1 if k % 16 < 8 else -1)))[k % 4]
        readings, _ = two_hander(first + k, fault if faulty else Fault(), at_lens=at_lens)
        yield faulty, readings if level == 3 else at_level_2(readings, first + k)


def shot_and_reverse(first: int) -> Scenes:
    """Forty shots, each with its reverse, at level 3."""
    for k in range(40):
        fault = (Fault(up=6), Fault(up=-6), Fault(right=8), Fault(right=-8))[k % 4]
        yield (k // 4) % 2 == 0, reverse_shots(stage(first + k), fault if (k // 4) % 2 == 0 else Fault())


def as_pictures(first: int, count: int) -> Scenes:
    """Rendered and read from their pixels, some four seconds of work each: four kinds in turn, four good ones after four faulty ones."""
    for k in range(count):
        yield (k // 4) % 2 == 0, as_picture(first + k, k, faulty=(k // 4) % 2 == 0)


def as_picture(seed: int, kind: int, *, faulty: bool) -> Readings:
    """kind % 4 : too high, too low, on the wrong side of the lens, beside the lens (where the look is at the lens)."""
    fault = (Planted(up=14), Planted(up=-14), Planted(wrong_side=True), Planted(beside=9.0 if kind % 16 < 8 else -9.0))[kind % 4]
    return rendered_look(seed, fault if faulty else Planted(), at_lens=kind % 4 == 3)
