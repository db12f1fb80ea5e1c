"""Flashes, general and red, counted a second as broadcasters count them. A caution, never a certificate."""

from __future__ import annotations

from typing import Literal

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import Finding, Limit, NotMeasured, Result
from shotcrit.clock import FrameClock, Span
from shotcrit.counted import times
from shotcrit.readings.bundle import Readings
from shotcrit.readings.seen import FloatArray

ID = "flash"
TITLE = "Flashing pictures"
HELP = "Counts general and red flashes a second. A caution only: no certified test for photosensitive epilepsy."
NAME = "flash"
VERSION = 1
COLUMN: Column = "picture"
KINDS = (
    Kind("general", "general"),
    Kind("red", "red"),
)
NEEDS = Needs(("pictures",))

CAUTION = "This is no certified test for photosensitive epilepsy: have the film tested by an accredited test, under the rules of where it is shown."
_BASIS = (
    "W3C WCAG 2.2 (2023, w3.org/TR/WCAG22), 2.3.1, 'general flash and red flash thresholds'; from memory: the same numbers in ITU-R BT.1702 and "
    "Ofcom's Guidance Note, Annex 1 (20 cd/m2, darker picture below 160 cd/m2, a quarter of the screen, three a second)"
)
LIMITS = (
    Limit("rate", 3, "flashes a second", _BASIS, "Flashes allowed within any one second."),
    Limit("area", 0.25, "of the picture", _BASIS, "Part of the picture that has to flash at one time for it to count."),
)

Flash = Literal["general", "red"]


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds general and red; value: most flashes within one second. A flash is a pair of opposing changes, so half of one counts half."""
    if readings.picture is None:
        return Result(not_measured=(NotMeasured(ID, None, "pictures"),))
    flashing = readings.picture.flashing
    if flashing is None:
        return Result(not_measured=(NotMeasured(ID, None, "the light of each picture; measure the movie again"),))
    found = []
    kinds: tuple[tuple[Flash, FloatArray, FloatArray], ...] = (
        ("general", flashing.rise, flashing.fall),
        ("red", flashing.to_red, flashing.from_red),
    )
    for kind, up, down in kinds:
        turns = opposing_changes(up, down, limits["area"])
        worst = busiest_second(turns, readings.clock)
        if worst is not None and len(worst) / 2 > limits["rate"]:
            found.append(_finding(readings, kind, worst, limits))
    return Result(tuple(found))


def opposing_changes(up: FloatArray, down: FloatArray, area: float) -> list[int]:
    """Frame indices at which over `area` of the picture changes, each against the one before it: up, down, up, ..

    up, down : [shape=(n,)] part of the picture that completes such a change on the frame
    """
    turns: list[int] = []
    last = 0
    for i in range(len(up)):
        for way, part in ((1, up[i]), (-1, down[i])):
            if part >= area and way != last:
                turns.append(i)
                last = way
    return turns


def busiest_second(turns: list[int], clock: FrameClock) -> list[int] | None:
    """The most changes whose frames start within one second (start included, end not), the first such second; None without changes."""
    best: list[int] | None = None
    for k, first in enumerate(turns):
        inside = [i for i in turns[k:] if clock.start(i) - clock.start(first) < 1]
        if best is None or len(inside) > len(best):
            best = inside
    return best


def _finding(readings: Readings, kind: Flash, turns: list[int], limits: Limits) -> Finding:
    flashes = len(turns) / 2
    span = Span(max(0, turns[0] - 1), turns[-1] + 1)
    word = "The picture flashes" if kind == "general" else "The picture flashes in saturated red"
    says = (
        f"{word} {times(flashes, digits=1)} within one second, over {readings.numbering.text(span)}; "
        f"more than {limits['rate']:g} is a risk to viewers. {CAUTION}"
    )
    suggest = f"Slow the flashes down, make them weaker or smaller, or keep to {limits['rate']:g} in a second."
    return Finding(ID, kind, None, span, flashes, "flashes a second", limits["rate"], "must", 0.8, says, suggest, _BASIS)
