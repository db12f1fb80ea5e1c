"""What routes take and answer about notes, drawings, markers, phrases, findings and corrections. Frames are indices from 0."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from shotcrit.checks.about import Column
from shotcrit.crit.things import Decision, Id, Index, Marker, Numbers, Part, Rewording, Short, Stroke, Text, Weight
from shotcrit.room.shapes.common import Version
from shotcrit.room.shapes.measured import SheetCurve


class NewNote(Part):
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


class NotePatch(Part):
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


class Move(Part):
    """after: id of the note it is to follow; null for the top."""

    version: Version
    after: Id | None = None


class NewDrawing(Part):
    """note: id of a note it is put to at once."""

    first: Index
    last: Index
    strokes: Annotated[tuple[Stroke, ...], Field(max_length=2_000)] = ()
    note: Id | None = None


class DrawingPatch(Part):
    version: Version
    first: Index | None = None
    last: Index | None = None
    strokes: Annotated[list[Stroke], Field(max_length=2_000)] | None = None


class NewStrokes(Part):
    """Strokes added on top; two windows may draw on one drawing at the same time."""

    strokes: Annotated[list[Stroke], Field(min_length=1, max_length=200)]


class AlongMark(Part):
    """Copy a drawing to every frame first..last, moved with a measured mark."""

    who: Short
    mark: Short
    first: Index
    last: Index


class NewMarker(Part):
    """pressed: the frame on screen when the key went down; the reviewer's reaction time is taken off here."""

    pressed: Index
    text: Short = ""


class MarkerPatch(Part):
    version: Version
    frame: Index | None = None
    text: Short | None = None


class MarkedFindings(Part):
    """A marker and the keys of the findings that lie under it, nearest first."""

    marker: Marker
    findings: list[str]


class Reactions(Part):
    """Milliseconds from a flash to the key, one a try, five tries or more."""

    samples_ms: Annotated[list[Annotated[float, Field(ge=0, le=10_000)]], Field(min_length=5, max_length=200)]


class ReactionTime(Part):
    """reaction_ms: the median of the tries that count, now the setting; spread_ms: their median absolute deviation."""

    reaction_ms: float
    spread_ms: float
    used: int
    left_out: int


class NewPhrase(Part):
    text: Annotated[str, Field(min_length=1, max_length=20_000)]
    field: Literal["what", "why", "try"] = "what"


class PhrasePatch(Part):
    version: Version
    text: Annotated[str, Field(min_length=1, max_length=20_000)] | None = None
    field: Literal["what", "why", "try"] | None = None
    used: Annotated[int, Field(ge=0, le=1_000_000)] | None = None


class TrayCurve(Part):
    """Evidence on the sheet: one value a frame from `first` on; null where unknown. wanted is empty or as long as seen."""

    name: str
    unit: str
    first: Index
    seen: list[float | None]
    wanted: list[float | None]


class TrayStroke(Part):
    """Evidence on the picture at one frame. is: as seen; should: as wanted; slip: a movement; path: an arc; patch: a closed outline."""

    frame: Index
    kind: Literal["is", "should", "slip", "path", "patch"]
    points: list[tuple[float, float]]
    label: str


class TrayFinding(Part):
    """A proposal. key names it in this take; decision: what the reviewer made of it; worse: dismissed, and got worse since.

    state : 'open' to be judged, 'edited' reworded and still open, 'taken', 'dismissed'
    says, try, weight, first, last : as reworded by the reviewer where they did
    column : of the sheet, where its evidence is drawn; null: its own bracket alone
    evidence : its curves as they are drawn there
    frames : each frame, where one cause shows on single ones; else empty
    plan : whether there is a drawing from above and from the side, at .../findings/{key}/plan.svg
    """

    key: str
    state: Literal["open", "edited", "taken", "dismissed"]
    worse: bool
    check: str
    kind: str
    who: str | None
    first: Index
    last: Index
    numbers: Numbers
    weight: Literal["must", "polish", "keep"]
    confidence: float
    level: int
    frames: list[Index]
    says: str
    suggest: str = Field(alias="try")
    decision: Decision | None
    markers: list[Id]
    curves: list[TrayCurve]
    strokes: list[TrayStroke]
    plan: bool
    column: Column | None
    evidence: list[SheetCurve]


class NotMeasuredHere(Part):
    """A check that could not run, and what it needs."""

    check: str
    who: str | None
    needs: str


class Tray(Part):
    """The findings of a take. measured: false as long as there is no measurement."""

    take: Id
    measured: bool
    findings: list[TrayFinding]
    not_measured: list[NotMeasuredHere]


class TakeFinding(Part):
    """Make a note of a finding. What is left out is taken from the finding; 'what' starts as its sentence."""

    weight: Weight | None = None
    what: Text | None = None
    why: Text | None = None
    suggest: Text | None = Field(default=None, alias="try")
    drawings: Annotated[tuple[Id, ...], Field(max_length=200)] = ()
    after: Id | None = None


class Dismissal(Part):
    """Why it is none. Asked for, because next week somebody wants to know."""

    reason: Annotated[str, Field(min_length=1, max_length=20_000)]


class EditFinding(Part):
    rewording: Rewording


class CorrectionPart(Part):
    event: Literal["word", "phone", "breath", "cut"]
    was: dict[str, Any] | None = None
    now: dict[str, Any] | None = None
    replaces: Id | None = Field(default=None, description="The correction that gave the event as it is now, when it was corrected before.")


class NewCorrection(Part):
    """was: the event as the sheet has it, null to add one; now: as it should be, null to delete it. A split is a change and an addition."""

    changes: Annotated[list[CorrectionPart], Field(min_length=1, max_length=200)]
