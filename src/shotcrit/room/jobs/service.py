"""Background work of one room: what runs, how far it is, how it ended."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from shotcrit.crit.ids import new_id
from shotcrit.crit.view import NotHere
from shotcrit.errors import ShotcritError, Stopped
from shotcrit.progress import Progress
from shotcrit.room.jobs.shapes import Job
from shotcrit.unforeseen import unforeseen

Kind = Literal["measure", "frames", "send", "line up"]
Ended = tuple[str, tuple[str, ...]]
"""What a job says at its end, and the files that it made."""
Body = Callable[[Progress, threading.Event], Ended]
KEPT = 200
"""Jobs remembered; older ended ones are forgotten."""


@dataclass(frozen=True)
class _Steps:
    """Progress of one job."""

    put: Callable[..., None]
    job: str

    def step(self, stage: str, done: float, total: float | None) -> None:
        self.put(self.job, stage=stage, done=done, total=total)


class Jobs:
    """Jobs run in threads that wait for processes of their own. Each change is told to `changed`, in the order in which they happened."""

    def __init__(self, changed: Callable[[Job], None]) -> None:
        self._changed = changed
        self._lock = threading.Lock()
        self._telling = threading.RLock()
        self._jobs: dict[str, Job] = {}
        self._stops: dict[str, threading.Event] = {}
        self._threads: list[threading.Thread] = []

    def listed(self) -> list[Job]:
        """Newest first."""
        with self._lock:
            return list(reversed(self._jobs.values()))

    def get(self, job_id: str) -> Job:
        """Raises NotHere when there is none."""
        with self._lock:
            if job_id not in self._jobs:
                raise NotHere("there is no such job; it may have ended before the room was opened again")
            return self._jobs[job_id]

    def latest(self, kind: Kind, take: str) -> Job | None:
        """The job of this kind that was started last on a take."""
        return next((j for j in self.listed() if (j.kind, j.take) == (kind, take)), None)

    def running(self, kind: Kind, take: str) -> Job | None:
        """The job of this kind on a take that has not ended."""
        with self._lock:
            return self._running(kind, take)

    def _running(self, kind: Kind, take: str) -> Job | None:
        return next((j for j in self._jobs.values() if (j.kind, j.take) == (kind, take) and j.state in ("waiting", "running")), None)

    def start(self, kind: Kind, take: str, body: Body, *, alone: bool = True) -> Job:
        """Start work, or answer with the same work on the same take that runs already (alone)."""
        with self._lock:
            if alone and (same := self._running(kind, take)):
                return same
            job = Job(id=new_id(), kind=kind, take=take, state="running", stage="starting", done=0, total=None, says="")
            self._jobs[job.id] = job
            self._stops[job.id] = threading.Event()
            self._forget()
            thread = threading.Thread(target=self._run, args=(job.id, body), name=job.id, daemon=True)
            self._threads = [t for t in self._threads if t.is_alive()] + [thread]
        self._changed(job)
        thread.start()
        return job

    def stop(self, job_id: str) -> Job:
        """Ask a job to stop; it ends as 'stopped' a moment later."""
        self.get(job_id)
        with self._lock:
            self._stops[job_id].set()
            return self._jobs[job_id]

    def join(self, job_id: str) -> None:
        """Wait until a job has ended."""
        with self._lock:
            waiting = [t for t in self._threads if t.name == job_id]
        for thread in waiting:
            thread.join()

    def close(self) -> None:
        """Stop everything and wait until it has ended."""
        with self._lock:
            for stop in self._stops.values():
                stop.set()
            waiting = list(self._threads)
        for thread in waiting:
            thread.join()

    def _run(self, job_id: str, body: Body) -> None:
        try:
            says, files = body(_Steps(self._set, job_id), self._stops[job_id])
            self._set(job_id, state="done", says=says, files=files)
        except Stopped:
            self._set(job_id, state="stopped", says="stopped; what was finished is kept")
        except ShotcritError as problem:
            self._set(job_id, state="failed", says=str(problem))
        except Exception as problem:
            self._set(job_id, state="failed", says=str(unforeseen(problem)))

    def _set(self, job_id: str, **fields: object) -> None:
        with self._telling:
            with self._lock:
                job = self._jobs[job_id].model_copy(update=fields)
                self._jobs[job_id] = job
            self._changed(job)

    def _forget(self) -> None:
        ended = [j.id for j in self._jobs.values() if j.state not in ("waiting", "running")]
        for job_id in ended[: max(0, len(self._jobs) - KEPT)]:
            del self._jobs[job_id], self._stops[job_id]
