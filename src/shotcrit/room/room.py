"""The room over one crit: its services, each standing on those above it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from shotcrit.room.cast.following import Following
from shotcrit.room.cast.lessons import Lessons
from shotcrit.room.cast.service import Casting
from shotcrit.room.cast.tables import MarkTables
from shotcrit.room.edits import Edits
from shotcrit.room.events.bus import Bus
from shotcrit.room.events.shapes import JobEvent
from shotcrit.room.frames.service import Frames
from shotcrit.room.history.service import CritHistory
from shotcrit.room.jobs.service import Jobs
from shotcrit.room.judging.service import Judging
from shotcrit.room.measured.corrections import Corrections
from shotcrit.room.measured.lines import Lines
from shotcrit.room.measured.service import Measurements
from shotcrit.room.notes.bringing import Bringing
from shotcrit.room.notes.drawings import Drawings
from shotcrit.room.notes.markers import Markers
from shotcrit.room.notes.service import Notes
from shotcrit.room.sending.answers import Answers
from shotcrit.room.sending.service import Sending
from shotcrit.room.settings.service import OwnSettings
from shotcrit.room.sheet.service import Sheets
from shotcrit.room.takes.asked import AskedBefore
from shotcrit.room.takes.beside import BesideShots
from shotcrit.room.takes.lined import LinedTakes
from shotcrit.room.takes.media import MediaPlaces
from shotcrit.room.takes.reference import References
from shotcrit.room.takes.service import Takes
from shotcrit.room.worker import Worker
from shotcrit.store.crit_file import CritFile


class Room:
    """Routes call a service; a service stores through `edits`, and has long work done by the worker.

    habits : file of the person's own settings, None for nowhere
    roots, folders_free : which folders may be read, and whether others may be sent to
    """

    def __init__(
        self, crit: CritFile, worker: Worker, *, habits: Path | None = None, roots: Sequence[Path] = (), folders_free: bool = True
    ) -> None:
        self.crit = crit
        self.worker = worker
        self.events = Bus()
        self.jobs = Jobs(lambda job: self.events.post(JobEvent(job=job)))
        self.edits = Edits(crit, self.events)
        self.settings = OwnSettings(self.edits, habits)
        self.media = MediaPlaces(self.edits, worker, roots)
        self.history = CritHistory(crit, self.edits, self.media)
        self.takes = Takes(self.edits, self.media, worker)
        self.beside = BesideShots(self.edits, worker)
        self.frames = Frames(self.edits, worker, self.jobs, self.events)
        self.references = References(self.edits, self.media, worker, self.frames.clock)
        self.measurements = Measurements(self.edits, self.settings, self.frames, worker, self.jobs, self.events)
        self.lined = LinedTakes(self.edits, self.measurements, worker, self.jobs, self.events)
        self.asked = AskedBefore(self.edits, self.measurements, self.media, self.lined)
        self.lines = Lines(self.edits, self.measurements)
        self.corrections = Corrections(self.edits)
        self.casting = Casting(self.edits)
        self.mark_tables = MarkTables(self.takes, self.measurements, self.casting)
        self.following = Following(self.edits, self.takes, self.measurements, self.jobs, self.events)
        self.lessons = Lessons(self.takes, self.measurements, worker)
        self.judging = Judging(self.edits, self.measurements, self.frames, self.lined)
        self.sheets = Sheets(self.edits, self.takes, self.frames, self.measurements, self.judging)
        self.notes = Notes(self.edits)
        self.drawings = Drawings(self.edits, self.measurements)
        self.bringing = Bringing(self.edits, worker)
        self.markers = Markers(self.edits, self.frames, self.judging)
        self.sending = Sending(crit, self.judging, self.media, worker, self.jobs, folders_free=folders_free)
        self.answers = Answers(crit, self.edits)
        self.edits.tell_from_now()

    def close(self) -> None:
        """Stop the jobs, then close the crit."""
        self.following.close()
        self.jobs.close()
        self.crit.close()
        self.sending.close()
