"""What was measured: the sheet, the findings, measuring again, jobs."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Path
from fastapi.responses import Response

from shotcrit.crit.things import Decision, Id, Note
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.shapes.common import Done, Job
from shotcrit.room.shapes.measured import Playhead, Sheet
from shotcrit.room.shapes.notes import Dismissal, EditFinding, TakeFinding, Tray

read = APIRouter(tags=["measured"], responses=READ)
write = APIRouter(tags=["measured"], responses=WRITE)
_SVG: dict[int | str, dict[str, Any]] = {200: {"content": {"image/svg+xml": {}}, "description": "The drawing."}}
_GRID: dict[int | str, dict[str, Any]] = {200: {"content": {"text/plain": {}}, "description": "A TextGrid, UTF-8."}}
Key = Annotated[str, Path(pattern=r"^[0-9a-f]{16}$", description="The finding's key in this take.")]


@read.get("/takes/{take_id}/sheet")
def get_sheet(take_id: Id, room: Here) -> Sheet:
    """Everything the sheet shows. Before the first measurement: the frames alone, and `measured` is false."""
    return room.sheet(take_id)


@read.get("/takes/{take_id}/track.TextGrid", responses=_GRID, response_class=Response)
def get_track_reading(take_id: Id, room: Here) -> Response:
    """Words, phones and breaths as tiers, as they stand on the sheet."""
    name, text = room.track_reading(take_id)
    return Response(text, media_type="text/plain", headers={"Content-Disposition": f"attachment; filename*=UTF-8''{quote(name)}"})


@write.post("/takes/{take_id}/measure", status_code=202)
def measure(take_id: Id, room: Here) -> Job:
    """Measure a take in the background. A take already being measured answers with that job; a stopped one goes on where it was."""
    return room.measure(take_id)


@read.get("/jobs")
def get_jobs(room: Here) -> list[Job]:
    """Background work since this room was opened, newest first."""
    return room.jobs.listed()


@read.get("/jobs/{job_id}")
def get_job(job_id: Id, room: Here) -> Job:
    """One job."""
    return room.jobs.get(job_id)


@write.delete("/jobs/{job_id}")
def stop_job(job_id: Id, room: Here) -> Job:
    """Stop a job. What it finished is kept, and the next run picks it up."""
    return room.stop_job(job_id)


@write.post("/takes/{take_id}/playhead", status_code=204)
def set_playhead(take_id: Id, body: Playhead, room: Here) -> None:
    """Tell where the reviewer is, so that frames are built around there first."""
    room.set_playhead(take_id, body.index)


@read.get("/takes/{take_id}/findings")
def get_findings(take_id: Id, room: Here) -> Tray:
    """What the checks propose, with what the reviewer made of it. Those dismissed stay dismissed unless they got worse."""
    return room.tray(take_id)


@read.get("/takes/{take_id}/findings/{key}/plan.svg", responses=_SVG, response_class=Response)
def get_plan(take_id: Id, key: Key, room: Here) -> Response:
    """A look from above and from the side, as it is and as it should be, where a scene tells all places."""
    return Response(room.finding_plan(take_id, key), media_type="image/svg+xml")


@write.post("/takes/{take_id}/findings/{key}/take", status_code=201)
def take_finding(take_id: Id, key: Key, body: TakeFinding, room: Here, who: Who) -> Note:
    """Make a note of a finding, with its frames, still and numbers, to be worded."""
    return room.take_finding(take_id, key, body, who)


@write.post("/takes/{take_id}/findings/{key}/dismiss")
def dismiss_finding(take_id: Id, key: Key, body: Dismissal, room: Here, who: Who) -> Decision:
    """Put a finding away with a reason. It stays away, also on the next take, unless it gets worse."""
    return room.dismiss_finding(take_id, key, body.reason, who)


@write.post("/takes/{take_id}/findings/{key}/edit")
def edit_finding(take_id: Id, key: Key, body: EditFinding, room: Here, who: Who) -> Decision:
    """Reword a finding, or change its weight or frames, before it is taken."""
    return room.edit_finding(take_id, key, body.rewording, who)


@write.post("/takes/{take_id}/findings/{key}/restore")
def restore_finding(take_id: Id, key: Key, room: Here, who: Who) -> Done:
    """Open a finding again. A note that was made of it stays."""
    return room.restore_finding(take_id, key, who)
