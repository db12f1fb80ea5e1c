"""The one model of the sheet: finished columns, lanes, stretches and curves, one row a frame. Whoever paints it decides nothing but where ink goes.

Positions are rows and parts of rows from the first picture. Knows nothing of paper or screen. Painted as SVG by the neighbours here, and in the room
by web/src/sheet, which gets it as JSON; how each kind looks stands in marks.json, which both read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column
from shotcrit.clock import FrameClock, Numbering, Span

ColumnKey = Column | Literal["frame", "found", "notes"]
"""A column's stable name, whatever its head says."""
SeriesId = Literal["picture.movement", "sound.wave", "mouth.wanted", "mouth.seen", "body.lift", "evidence.wanted", "evidence.seen"]
"""A curve's stable name: the column it belongs to, and what it is there."""
StretchKind = Literal[
    "cut", "dead", "dead_told", "black", "card", "fade_in", "fade_out", "dissolve",
    "lean", "lean_slight",
    "word", "word_other", "phone", "phone_stressed",
    "inhale", "exhale", "smack", "tremor",
    "look_met", "look_alone", "look_missed", "look_proposed", "blink", "lids_shut",
]  # fmt: skip
"""What a stretch is. dead_told: a finding speaks of it; word_other: not said by whoever speaks first; look_proposed: not said by the cast."""
SERIES: tuple[str, ...] = get_args(SeriesId)
KINDS: tuple[str, ...] = get_args(StretchKind)


@dataclass(frozen=True)
class Stretch:
    """Something on rows start .. stop; at `start` alone where the two are the same.

    text : what is written beside it; who : whose it is; sure : False is drawn broken
    leads : the first word of a line, which says who speaks
    count : number on its first row, for rows that are counted one by one; 0: they are not
    event : which of the measured words, phones, breaths or cuts it shows
    """

    start: float
    stop: float
    kind: StretchKind
    text: str = ""
    who: str | None = None
    sure: bool = True
    leads: bool = False
    count: int = 0
    event: int | None = None


@dataclass(frozen=True)
class Curve:
    """One number a row from row `first` on, 0..1 of the lane's width, nan where not known.

    values : float32 [shape=(n,)]; of 'sound.wave' [shape=(n, k, 2)], least and greatest in each of k slices of a row, -1..1
    says : what it is, with its unit
    """

    id: SeriesId
    values: npt.NDArray[np.float32]
    says: str = ""
    first: int = 0


@dataclass(frozen=True)
class Lane:
    """What stands in a column, or in one character's part of it."""

    column: Column
    who: str | None = None
    stretches: tuple[Stretch, ...] = ()
    curves: tuple[Curve, ...] = ()

    def curve(self, series: SeriesId) -> Curve | None:
        return next((curve for curve in self.curves if curve.id == series), None)

    def __bool__(self) -> bool:
        return bool(self.stretches or self.curves)


@dataclass(frozen=True)
class Bracket:
    """A finding or note beside its rows first..last. number: its place in the list; lane: 0 nearest the frame numbers."""

    number: int
    first: int
    last: int
    lane: int
    weight: Literal["must", "polish", "keep"]
    label: str
    says: str


@dataclass(frozen=True)
class Sheet:
    """The whole sheet. heads: what stands over the brackets, and over the empty column; counts: the frames that are judged, None for all."""

    title: str
    clock: FrameClock
    numbering: Numbering
    people: tuple[str, ...]
    lanes: tuple[Lane, ...]
    found: tuple[Bracket, ...]
    heads: tuple[str, str] = ("found", "notes")
    counts: Span | None = None

    @property
    def frames(self) -> int:
        return len(self.clock)

    def of(self, column: ColumnKey) -> tuple[Lane, ...]:
        """The lanes of a column, side by side."""
        return tuple(lane for lane in self.lanes if lane.column == column)

    def stretches(self, column: ColumnKey, *kinds: StretchKind) -> Iterator[Stretch]:
        """Those of a column, of any kind or of these."""
        return (s for lane in self.of(column) for s in lane.stretches if not kinds or s.kind in kinds)

    @property
    def cuts(self) -> tuple[int, ...]:
        """Index of the first frame of each new shot."""
        return tuple(int(s.start) for s in self.stretches("picture", "cut"))

    @property
    def wave(self) -> npt.NDArray[Any]:
        """The sound's wave; empty without sound."""
        found = next((c for lane in self.of("sound") for c in lane.curves if c.id == "sound.wave"), None)
        return np.zeros((0, 1, 2), np.float32) if found is None else found.values
