"""What a changed cast sets going: marks are followed anew once the hand rests."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from contextlib import suppress

from shotcrit.errors import ShotcritError
from shotcrit.readings.cast import Cast
from shotcrit.room.cast.changes import followed_from
from shotcrit.room.edits import Edits
from shotcrit.room.events.bus import Bus
from shotcrit.room.events.shapes import MeasuredEvent
from shotcrit.room.jobs.service import Jobs
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.measured.service import Measurements
from shotcrit.room.shapes import RecordName
from shotcrit.room.takes.service import Takes

SETTLE_S = 0.8
"""Seconds without a further change before marks are followed: quick clicks are followed together (guess)."""


class Following:
    def __init__(self, edits: Edits, takes: Takes, measurements: Measurements, jobs: Jobs, events: Bus) -> None:
        self._takes = takes
        self._measurements = measurements
        self._jobs = jobs
        self._events = events
        self._lock = threading.RLock()
        self._waiting: dict[str, threading.Timer] = {}
        self._halted: set[str] = set()
        """Takes whose reviewer said stop since the last edit."""
        edits.on_change(self._settle)

    def close(self) -> None:
        with self._lock:
            for timer in self._waiting.values():
                timer.cancel()

    def stop_job(self, job_id: str) -> Job:
        """Stop a job, and what took its place or was about to: a reviewer who says stop means it, until the next edit."""
        job = self._jobs.get(job_id)
        with self._lock:
            self._rest(job.take)
            self._halted.add(job.take)
            heir = self._jobs.running(job.kind, job.take)
        if heir is not None and heir.id != job_id:
            self._jobs.stop(heir.id)
        return self._jobs.stop(job_id)

    def _settle(self, changed: Sequence[RecordName]) -> None:
        """A take whose marks changed, here or in another window, or by undo, is followed again after a while without further changes."""
        with self._lock:
            for take_id in {record.id for record in changed if record.kind == "take"}:
                self._rest(take_id)
                self._halted.discard(take_id)
                timer = self._waiting[take_id] = threading.Timer(SETTLE_S, self._follow_up, (take_id,))
                timer.daemon = True
                timer.start()

    def _rest(self, take_id: str) -> None:
        waiting = self._waiting.pop(take_id, None)
        if waiting is not None:
            waiting.cancel()

    def _follow_up(self, take_id: str) -> None:
        # The room may close while a timer runs; there is nobody to be told then.
        with suppress(ShotcritError):
            self._follow_now(take_id)

    def _follow_now(self, take_id: str) -> None:
        take = self._takes.get(take_id)
        running = self._jobs.running("measure", take_id)
        if running is not None and self._measurements.as_ordered(take):
            return
        known = self._measurements.measured(take)
        if running is not None:
            self._jobs.stop(running.id)
            self._jobs.join(running.id)
        old = (known.readings.cast if known else None) or Cast()
        if running or (known is not None and followed_from(old) != followed_from(take.cast)):
            with self._lock:
                if take_id not in self._halted:
                    self._measurements.order(take_id)
        elif known is not None and old != take.cast:
            self._events.post(MeasuredEvent(take=take_id))
