"""The crit as a whole, and its history, as routes answer them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shotcrit.crit.records import Correction, Decision, Drawing, Marker, Note, Phrase, Shape, Short, Shot, Take
from shotcrit.room.settings.shapes import Settings
from shotcrit.room.shapes import RecordName, Version
from shotcrit.room.takes.shapes import Media


class CritState(Shape):
    """The whole crit. seq: number of the last edit; undo, redo: labels of what they would take back or bring back, null when nothing."""

    name: str
    seq: int
    undo: str | None
    redo: str | None
    shots: list[Shot]
    takes: list[Take]
    notes: list[Note]
    drawings: list[Drawing]
    decisions: list[Decision]
    markers: list[Marker]
    corrections: list[Correction]
    phrases: list[Phrase]
    settings: Settings
    media: list[Media]


class HistoryEntry(Shape):
    """One edit. what: 'edit', or 'undo' or 'redo' of edit number `of`."""

    seq: int
    when: str
    who: str
    what: Literal["edit", "undo", "redo"]
    of: int | None
    label: str
    changed: list[RecordName]


class History(Shape):
    """Newest first. older: ask again with before=older; null at the beginning."""

    entries: list[HistoryEntry]
    older: int | None


class ShotPatch(Shape):
    version: Version
    name: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    sequence: Short | None = None
