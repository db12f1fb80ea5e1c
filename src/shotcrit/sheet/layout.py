"""Which columns a sheet has and how wide they are; columns with nothing in them fold away. All lengths in points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotcrit.sheet.model import Sheet

Kind = Literal["frame", "picture", "sound", "words", "phones", "air", "mouth", "eyes", "body", "found", "notes"]


@dataclass(frozen=True)
class Column:
    """One column. lane: which of the sheet's mouths, eyes or bodies; name: whose, for its head."""

    kind: Kind
    x: float
    width: float
    lane: int = 0
    name: str = ""


LEAST: dict[Kind, tuple[float, float]] = {
    "frame": (36, 0.1),
    "picture": (21, 0.4),
    "sound": (30, 1.2),
    "words": (43, 1.1),
    "phones": (21, 0.2),
    "air": (17, 0.3),
    "mouth": (28, 0.9),
    "eyes": (22, 0.4),
    "body": (16, 0.6),
    "found": (52, 2.2),
    "notes": (34, 2.2),
}
"""Least width, and how greedily a column takes what room is left (both found by looking at printed pages)."""


def kept(sheet: Sheet) -> list[tuple[Kind, int, str]]:
    """The columns that have something to show, each with its lane and whose it is."""
    single: list[tuple[Kind, bool]] = [
        ("frame", True),
        ("picture", sheet.dead is not None),
        ("sound", sheet.wave.size > 0),
        ("words", bool(sheet.words)),
        ("phones", bool(sheet.phones)),
        ("air", bool(sheet.air)),
    ]
    found: list[tuple[Kind, int, str]] = [(kind, 0, "") for kind, there in single if there]
    found += [("mouth", i, lane.who or "") for i, lane in enumerate(sheet.mouths)]
    found += [("eyes", i, lane.who) for i, lane in enumerate(sheet.eyes)]
    found += [("body", i, lane.who or "") for i, lane in enumerate(sheet.bodies)]
    if sheet.found:
        found.append(("found", 0, ""))
    return [*found, ("notes", 0, "")]


def least_width(sheet: Sheet) -> float:
    """The narrowest that the sheet's columns can stand."""
    return sum(LEAST[kind][0] for kind, _, _ in kept(sheet))


def columns(sheet: Sheet, width: float) -> tuple[Column, ...]:
    """The columns over `width`: each at its least, the rest shared out by greed; narrower than least, all shrink alike."""
    wanted = kept(sheet)
    least = least_width(sheet)
    spare, shrink = max(0.0, width - least), min(1.0, width / least)
    greed = sum(LEAST[kind][1] for kind, _, _ in wanted)
    laid, x = [], 0.0
    for kind, lane, name in wanted:
        own = LEAST[kind][0] * shrink + spare * LEAST[kind][1] / greed
        laid.append(Column(kind, x, own, lane, name))
        x += own
    return tuple(laid)


def frames_a_second(sheet: Sheet) -> int:
    """Rows from one time mark to the next: the nominal rate as a whole number."""
    return max(1, round(sheet.clock.rate))


def beat(sheet: Sheet) -> int:
    """Rows between two strong lines: half a second."""
    return max(1, round(sheet.clock.rate / 2))
