"""Which columns a sheet has and how wide they are; columns with nothing in them fold away. All lengths in points."""

from __future__ import annotations

from dataclasses import dataclass

from shotcrit.sheet.model import ColumnKey, Lane, Sheet

NOTHING = Lane("picture")
"""In columns that are laid from no lane: frame numbers, findings, notes."""


@dataclass(frozen=True)
class Column:
    """One column of the paper. lane: what stands in it; its `who` is for the head."""

    kind: ColumnKey
    x: float
    width: float
    lane: Lane = NOTHING


LEAST: dict[ColumnKey, tuple[float, float]] = {
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


def kept(sheet: Sheet) -> list[tuple[ColumnKey, Lane]]:
    """The columns that have something to show, one for each lane."""
    lanes: list[tuple[ColumnKey, Lane]] = [(lane.column, lane) for lane in sheet.lanes]
    found: list[tuple[ColumnKey, Lane]] = [("found", NOTHING)] if sheet.found else []
    return [("frame", NOTHING), *lanes, *found, ("notes", NOTHING)]


def least_width(sheet: Sheet) -> float:
    """The narrowest that the sheet's columns can stand."""
    return sum(LEAST[kind][0] for kind, _ in kept(sheet))


def columns(sheet: Sheet, width: float) -> tuple[Column, ...]:
    """The columns over `width`: each at its least, the rest shared out by greed; narrower than least, all shrink alike."""
    wanted = kept(sheet)
    least = least_width(sheet)
    spare, shrink = max(0.0, width - least), min(1.0, width / least)
    greed = sum(LEAST[kind][1] for kind, _ in wanted)
    laid, x = [], 0.0
    for kind, lane in wanted:
        own = LEAST[kind][0] * shrink + spare * LEAST[kind][1] / greed
        laid.append(Column(kind, x, own, lane))
        x += own
    return tuple(laid)


def frames_a_second(sheet: Sheet) -> int:
    """Rows from one time mark to the next: the nominal rate as a whole number."""
    return max(1, round(sheet.clock.rate))


def beat(sheet: Sheet) -> int:
    """Rows between two strong lines: half a second."""
    return max(1, round(sheet.clock.rate / 2))
