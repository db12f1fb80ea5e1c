"""Findings and what becomes of them, as routes take and answer them. Frames are indices from 0."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shotcrit.checks.about import Column
from shotcrit.crit.records import Decision, Id, Index, Numbers, Rewording, Shape, Text, Weight
from shotcrit.room.sheet.shapes import SheetCurve


class TrayCurve(Shape):
    """Evidence on the sheet: one value a frame from `first` on; null where unknown. wanted is empty or as long as seen."""

    name: str
    unit: str
    first: Index
    seen: list[float | None]
    wanted: list[float | None]


class TrayStroke(Shape):
    """Evidence on the picture at one frame. is: as seen; should: as wanted; slip: a movement; path: an arc; patch: a closed outline."""

    frame: Index
    kind: Literal["is", "should", "slip", "path", "patch"]
    points: list[tuple[float, float]]
    label: str


class TrayFinding(Shape):
    """A proposal. key names it in this take; decision: what the reviewer made of it; worse: dismissed, and got worse since.

    state : 'open' to be judged, 'edited' reworded and still open, 'taken', 'dismissed'
    title : what it is called, 'mouth, closure'; check and kind are names of the code
    says, try, weight, first, last : as reworded by the reviewer where they did
    frames : each frame, where one cause shows on single ones; else empty
    column : of the sheet, where its evidence is drawn; null: its own bracket alone
    evidence : its curves as they are drawn there
    plan : whether there is a drawing from above and from the side, at .../findings/{key}/plan.svg
    """

    key: str
    state: Literal["open", "edited", "taken", "dismissed"]
    worse: bool
    check: str
    kind: str
    title: str
    who: str | None
    first: Index
    last: Index
    frames: list[Index]
    numbers: Numbers
    weight: Literal["must", "polish", "keep"]
    confidence: float
    level: float
    says: str
    suggest: str = Field(alias="try")
    decision: Decision | None
    markers: list[Id]
    curves: list[TrayCurve]
    strokes: list[TrayStroke]
    plan: bool
    column: Column | None
    evidence: list[SheetCurve]


class NotMeasuredHere(Shape):
    """A check that could not run, and what it needs."""

    check: str
    title: str
    who: str | None
    needs: str


class Tray(Shape):
    """The findings of a take. measured: false as long as there is no measurement."""

    take: Id
    measured: bool
    findings: list[TrayFinding]
    not_measured: list[NotMeasuredHere]
    assumed: list[str] = Field(default=[], description="What was taken for granted while measuring, one sentence each.")
    cast_counted_from: int | None = Field(
        default=None, description="The number that the cast seems to count the first picture by, where it is not the take's."
    )


class TakeFinding(Shape):
    """Make a note of a finding. What is left out is taken from the finding; 'what' starts as its sentence."""

    weight: Weight | None = None
    what: Text | None = None
    why: Text | None = None
    suggest: Text | None = Field(default=None, alias="try")
    drawings: Annotated[tuple[Id, ...], Field(max_length=200)] = ()
    after: Id | None = None


class Dismissal(Shape):
    """Why it is none. Asked for, because next week somebody wants to know."""

    reason: Annotated[str, Field(min_length=1, max_length=20_000)]


class EditFinding(Shape):
    rewording: Rewording
