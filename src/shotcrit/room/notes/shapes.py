"""Notes, drawings and first-look markers, as routes take and answer them. Frames are indices from 0."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from shotcrit.crit.records import Id, Index, Marker, Shape, Short, Stroke, Text, Weight
from shotcrit.room.shapes import Version


class NewNote(Shape):
    """after: id of the note it is put behind; null for the end."""

    first: Index
    last: Index
    who: Short | None = None
    weight: Weight = "polish"
    what: Text = ""
    why: Text = ""
    suggest: Text = Field(default="", alias="try")
    drawings: Annotated[tuple[Id, ...], Field(max_length=200)] = ()
    still: Index | None = None
    after: Id | None = None


class NotePatch(Shape):
    """Only what is given changes."""

    version: Version
    first: Index | None = None
    last: Index | None = None
    who: Short | None = None
    weight: Weight | None = None
    what: Text | None = None
    why: Text | None = None
    suggest: Text | None = Field(default=None, alias="try")
    drawings: Annotated[list[Id], Field(max_length=200)] | None = None
    still: Index | None = None
    closed: bool | None = None


class Move(Shape):
    """after: id of the note it is to follow; null for the top."""

    version: Version
    after: Id | None = None


class NewDrawing(Shape):
    """note: id of a note it is put to at once."""

    first: Index
    last: Index
    strokes: Annotated[tuple[Stroke, ...], Field(max_length=2_000)] = ()
    note: Id | None = None


class DrawingPatch(Shape):
    version: Version
    first: Index | None = None
    last: Index | None = None
    strokes: Annotated[list[Stroke], Field(max_length=2_000)] | None = None


class NewStrokes(Shape):
    """Strokes added on top; two windows may draw on one drawing at the same time."""

    strokes: Annotated[list[Stroke], Field(min_length=1, max_length=200)]


class AlongMark(Shape):
    """Copy a drawing to every frame first..last, moved with a measured mark."""

    who: Short
    mark: Short
    first: Index
    last: Index


class NewMarker(Shape):
    """pressed: the frame on screen when the key went down; the reviewer's reaction time is taken off here."""

    pressed: Index
    text: Short = ""


class MarkerPatch(Shape):
    version: Version
    frame: Index | None = None
    text: Short | None = None


class MarkedFindings(Shape):
    """A marker and the keys of the findings that lie under it, nearest first."""

    marker: Marker
    findings: list[str]


class Brought(Shape):
    """What a file brought in. known: notes that stood there already, word for word; says: all of it in a sentence."""

    notes: int
    drawings: int
    known: int
    says: str
