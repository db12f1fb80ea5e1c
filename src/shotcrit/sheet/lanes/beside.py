"""Findings and notes beside their rows, and the curves that a finding rests on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from shotcrit.checks.finding import Curve as Evidence
from shotcrit.checks.finding import Finding
from shotcrit.sheet import plain
from shotcrit.sheet.lanes.scales import on_one_scale
from shotcrit.sheet.model import Bracket, Curve


def brackets(findings: Iterable[Finding]) -> tuple[Bracket, ...]:
    """Findings numbered in their order."""
    return side_by_side(
        Bracket(number, f.span.start, f.span.last, 0, f.weight, f"{plain.title(f)}: {plain.short_value(f)}", f.says)
        for number, f in enumerate(findings, start=1)
    )


def side_by_side(wanted: Iterable[Bracket]) -> tuple[Bracket, ...]:
    """Brackets put beside each other where they overlap, each as near the numbers as it can stand."""
    ends: list[int] = []
    placed = []
    for bracket in sorted(wanted, key=lambda b: (b.first, -b.last, b.number)):
        lane = next((i for i, end in enumerate(ends) if end < bracket.first), len(ends))
        ends[lane : lane + 1] = [bracket.last]
        placed.append(replace(bracket, lane=lane))
    return tuple(placed)


def evidence(curve: Evidence) -> tuple[Curve, ...]:
    """A finding's own curve: as seen, and as wanted where it says so, on one scale that holds nought."""
    says = f"{curve.name}, {curve.unit}"
    seen, wanted = on_one_scale((np.array(curve.seen, np.float32), np.array(curve.wanted, np.float32)))
    drawn = (Curve("evidence.wanted", wanted, says, curve.first), Curve("evidence.seen", seen, says, curve.first))
    return tuple(c for c in drawn if len(c.values))
