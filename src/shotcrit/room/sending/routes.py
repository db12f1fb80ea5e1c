"""Sending a crit, and reading the animator's answers."""

from __future__ import annotations

from fastapi import APIRouter, UploadFile
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool

from shotcrit.crit.answers import MOST_ANSWERS
from shotcrit.crit.records import Id
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.sending.shapes import AnswersRead, Delivery, SendOrder

read = APIRouter(tags=["sending"], responses=READ)
write = APIRouter(tags=["sending"], responses=WRITE)
_ZIP: dict[int | str, dict[str, object]] = {200: {"content": {"application/zip": {}}, "description": "What was sent, as one file."}}


@read.get("/deliveries")
def get_deliveries(room: Here) -> list[Delivery]:
    """The ways to send a crit that are installed here."""
    return room.sending.deliveries()


@write.post("/send", status_code=202)
def send(body: SendOrder, room: Here, who: Who) -> Job:
    """Make deliveries in the background: into a folder on this computer, or to be downloaded."""
    return room.sending.send(body, who)


@read.get("/jobs/{job_id}/files.zip", responses=_ZIP, response_class=Response)
def get_sent_files(job_id: Id, room: Here) -> Response:
    """Everything that a finished send job made, as one zip."""
    name, data = room.sending.zipped(job_id)
    return Response(data, media_type="application/zip", headers={"Content-Disposition": f"attachment; filename*=UTF-8''{name}"})


@write.post("/answers")
async def read_answers(file: UploadFile, room: Here, who: Who) -> AnswersRead:
    """Read the small file that the animator's page saved: what is done, and what was answered, note by note."""
    return await run_in_threadpool(room.answers.read, await file.read(MOST_ANSWERS + 1), who)
