"""What was measured: lines, corrections by hand, measuring again."""

from __future__ import annotations

from fastapi import APIRouter

from shotcrit.crit.records import Correction, Id
from shotcrit.room.http import READ, WRITE, Base, Here, Who
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.measured.shapes import LinesSaved, NewCorrection, NewLines
from shotcrit.room.shapes import Done

read = APIRouter(tags=["measured"], responses=READ)
write = APIRouter(tags=["measured"], responses=WRITE)


@write.post("/takes/{take_id}/measure", status_code=202)
def measure(take_id: Id, room: Here) -> Job:
    """Measure a take in the background. A take already being measured answers with that job; a stopped one goes on where it was."""
    return room.measurements.order(take_id)


@write.put("/takes/{take_id}/lines")
def put_lines(take_id: Id, body: NewLines, room: Here, who: Who) -> LinesSaved:
    """Type or paste the dialogue; aligning starts at once and tells its progress as a job."""
    return room.lines.put(take_id, body, who)


@read.get("/takes/{take_id}/corrections")
def get_corrections(take_id: Id, room: Here) -> list[Correction]:
    """What was corrected by hand on a take."""
    return room.corrections.listed(take_id)


@write.post("/takes/{take_id}/corrections", status_code=201)
def correct(take_id: Id, body: NewCorrection, room: Here, who: Who) -> list[Correction]:
    """Drag, split, relabel, add or delete words, phones, breaths and cuts. It survives every new measurement. One call is one undo."""
    return room.corrections.put(take_id, body, who)


@write.delete("/corrections/{correction_id}")
def delete_correction(correction_id: Id, room: Here, who: Who, version: Base = None) -> Done:
    """Go back to what was measured."""
    return room.corrections.delete(correction_id, who, version)
