"""Lines and corrections by hand, as routes take and answer them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from shotcrit.crit.records import EventKind, Id, Shape, Take
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.shapes import Version


class NewLines(Shape):
    """The dialogue: one speech a line, `Name: words` (the name may be left out), a screenplay's page, WebVTT or SubRip. align: start aligning at once."""

    version: Version
    text: Annotated[str, Field(max_length=200_000)]
    align: bool = True


class LinesSaved(Shape):
    take: Take
    job: Job | None


class CorrectionPart(Shape):
    event: EventKind
    was: dict[str, Any] | None = None
    now: dict[str, Any] | None = None
    replaces: Id | None = Field(default=None, description="The correction that gave the event as it is now, when it was corrected before.")


class NewCorrection(Shape):
    """was: the event as the sheet has it, null to add one; now: as it should be, null to delete it. A split is a change and an addition."""

    changes: Annotated[list[CorrectionPart], Field(min_length=1, max_length=200)]
