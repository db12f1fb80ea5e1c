"""Background work."""

from __future__ import annotations

from fastapi import APIRouter

from shotcrit.crit.records import Id
from shotcrit.room.http import READ, WRITE, Here
from shotcrit.room.jobs.shapes import Job

read = APIRouter(tags=["jobs"], responses=READ)
write = APIRouter(tags=["jobs"], responses=WRITE)


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
    return room.following.stop_job(job_id)
