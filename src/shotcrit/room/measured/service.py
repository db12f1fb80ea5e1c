"""Measurements of takes: ordering one, keeping it in mind, and judging it again by what was said since."""

from __future__ import annotations

import threading
from collections.abc import Sequence

from shotcrit.checks.measured import Measured
from shotcrit.crit.records import Correction, Take
from shotcrit.elsewhere.near import run_elsewhere
from shotcrit.errors import Stopped
from shotcrit.measuring.take import judged_again
from shotcrit.progress import Progress
from shotcrit.readings.acting import MarkTrack
from shotcrit.room.edits import Edits
from shotcrit.room.events.bus import Bus
from shotcrit.room.events.shapes import FollowedEvent, MeasuredEvent
from shotcrit.room.frames.service import Frames
from shotcrit.room.jobs.behind import BEHIND
from shotcrit.room.jobs.service import Ended, Jobs
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.measured.again import as_told
from shotcrit.room.measured.making import measure_take
from shotcrit.room.settings.service import OwnSettings
from shotcrit.room.worker import Worker
from shotcrit.store.views import SessionView


class Measurements:
    def __init__(self, edits: Edits, settings: OwnSettings, frames: Frames, worker: Worker, jobs: Jobs, events: Bus) -> None:
        self._edits = edits
        self._settings = settings
        self._frames = frames
        self._worker = worker
        self._jobs = jobs
        self._events = events
        self._lock = threading.RLock()
        self._measured: dict[str, tuple[Measured, dict[str, float]]] = {}
        """By take: the last measurement as measured, and the limits that it was judged by."""
        self._checked: dict[str, tuple[object, Measured]] = {}
        """By take: what it was made from, the measurement with corrections."""
        self._following: dict[str, tuple[MarkTrack, ...]] = {}
        self._orders: dict[str, object] = {}

    # Ordering

    def order(self, take_id: str) -> Job:
        """Measure a take in the background; one that is being measured for what its lines, cast and limits no longer say begins anew."""
        take, limits = self._edits.get(Take, take_id), self._settings.now().limits

        def body(watch: Progress, stop: threading.Event) -> Ended:
            measured = self._measure(take, limits, watch, stop)
            self._remember(take, measured, limits)
            return f"{len(measured.findings)} findings", ()

        running = self._jobs.running("measure", take_id)
        if running is not None and not self.as_ordered(take):
            self._jobs.stop(running.id)
            self._jobs.join(running.id)
        self._orders[take_id] = (take.lines, take.cast, limits)
        return self._jobs.start("measure", take_id, body)

    def as_ordered(self, take: Take) -> bool:
        """Whether what was last ordered to be measured of a take is what its lines, its cast and the limits say now."""
        return self._orders.get(take.id) == (take.lines, take.cast, self._settings.now().limits)

    def forget(self, take_id: str) -> None:
        """Know nothing of a take's measurement any more."""
        with self._lock:
            self._measured.pop(take_id, None)
            self._orders.pop(take_id, None)

    def _measure(self, take: Take, limits: dict[str, float], watch: Progress, stop: threading.Event) -> Measured:
        playhead, heard = self._frames.playhead(take.id), lambda tracks: self._follow(take.id, tracks)
        try:
            measured: Measured = run_elsewhere(
                measure_take, self._worker, take, limits, progress=watch, stop=stop, playhead=playhead, heard=heard, bounds=BEHIND
            )
        except Stopped:
            # The paths as far as they go stay in sight until marks are followed again.
            raise
        except BaseException:
            self._follow(take.id, ())
            raise
        self._follow(take.id, ())
        return measured

    def _follow(self, take_id: str, tracks: Sequence[MarkTrack]) -> None:
        """Keep the tracks that are being followed, for pages to fetch."""
        with self._lock:
            before = self._following.pop(take_id, ())
            if tracks:
                self._following[take_id] = tuple(tracks)
        if tracks or before:
            self._events.post(FollowedEvent(take=take_id))

    def _remember(self, take: Take, measured: Measured, limits: dict[str, float]) -> None:
        with self._lock:
            self._measured[take.id] = (measured, limits)
            self._checked.pop(take.id, None)
        self._events.post(MeasuredEvent(take=take.id))

    # What is known

    def measured(self, take: Take) -> Measured | None:
        """The last measurement of a take, as measured. While a new one runs, the one before."""
        known = self._known(take)
        return known[0] if known else None

    def corrected(self, take: Take, corrections: Sequence[Correction]) -> Measured | None:
        """The measurement with the corrections put over it, and the checks run again on that by the cast and the limits as they are now.

        Looks and contacts hold at once. Marks that were placed since are followed in the background; until then their old paths are judged.
        """
        known, limits = self._known(take), self._settings.now().limits
        if known is None:
            return None
        measured, judged_by = known
        told = as_told(measured.readings, take)
        if not corrections and told is measured.readings and limits == judged_by:
            return measured
        said = tuple((c.id, c.version) for c in corrections)
        key = (id(measured), said, tuple(sorted(limits.items())), told.cast, take.first_frame, take.medium, take.counts)
        with self._lock:
            kept = self._checked.get(take.id)
            if kept is None or kept[0] != key:
                kept = self._checked[take.id] = (key, judged_again(measured, told, corrections, limits))
            return kept[1]

    def followed_now(self, take_id: str) -> Sequence[MarkTrack]:
        """The tracks of marks as far as they are followed just now; none when nothing is being followed."""
        with self._lock:
            return self._following.get(take_id, ())

    def current(self, view: SessionView, take: Take) -> Measured | None:
        """The measurement with the corrections that the crit has just now."""
        return self.corrected(take, view.all(Correction, take=take.id))

    def _known(self, take: Take) -> tuple[Measured, dict[str, float]] | None:
        """What was measured, now or by an earlier room, and the limits that it was judged by."""
        with self._lock:
            if take.id not in self._measured:
                limits = self._settings.now().limits
                found = self._worker.remembered(take, limits)
                if found is None:
                    return None
                self._measured[take.id] = (found, limits)
            return self._measured[take.id]
