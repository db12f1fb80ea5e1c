"""Takes lined up in the background, once the newer one is measured; what waited for that then comes along."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from typing import Any

from shotcrit.counted import counted
from shotcrit.crit.edits import Edit, make, update
from shotcrit.crit.records import Correction, Take
from shotcrit.crit.view import need
from shotcrit.elsewhere.near import run_elsewhere
from shotcrit.errors import ShotcritError, Stopped
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.progress import Progress
from shotcrit.room.edits import Edits
from shotcrit.room.events.bus import Bus
from shotcrit.room.events.shapes import MeasuredEvent
from shotcrit.room.jobs.behind import BEHIND
from shotcrit.room.jobs.service import Ended, Jobs
from shotcrit.room.measured.service import Measurements
from shotcrit.room.takes.carried_words import carried_words
from shotcrit.room.takes.making import line_two_up
from shotcrit.room.worker import Worker
from shotcrit.store.person import login_name
from shotcrit.store.views import SessionView
from shotcrit.takes.carried import together

CARRIED = "carry on from the take before"


class LinedTakes:
    def __init__(self, edits: Edits, measurements: Measurements, worker: Worker, jobs: Jobs, events: Bus) -> None:
        self._edits = edits
        self._measurements = measurements
        self._worker = worker
        self._jobs = jobs
        self._events = events
        self._lock = threading.Lock()
        self._known: dict[tuple[str, str], LinedUp | str] = {}
        """(sha256 of the older take, of the newer) -> how they belong together, or why that cannot be told."""

    def known(self, old: Take, new: Take) -> LinedUp | None:
        """How two takes belong together, as far as that is known."""
        found = self._found(old, new)
        return None if isinstance(found, str) else found

    def refused(self, old: Take, new: Take) -> str:
        """Why two takes could not be lined up, one sentence; '' where that was not tried or went well."""
        found = self._found(old, new)
        return found if isinstance(found, str) else ""

    def order(self, olds: list[Take], new: Take) -> None:
        """Line older takes up with a newer one in the background, those that were not yet."""

        def body(watch: Progress, stop: threading.Event) -> Ended:
            for old in olds:
                self._line_up(old, new, watch, stop)
            return "the takes are lined up", ()

        if any(self._found(old, new) is None for old in olds):
            self._jobs.start("line up", new.id, body)

    def _found(self, old: Take, new: Take) -> LinedUp | str | None:
        with self._lock:
            return self._known.get((old.sha256, new.sha256))

    def _line_up(self, old: Take, new: Take, watch: Progress, stop: threading.Event) -> None:
        if self._found(old, new) is not None:
            return
        found: LinedUp | str
        try:
            found = run_elsewhere(line_two_up, self._worker, old, new, progress=watch, stop=stop, bounds=BEHIND)
        except Stopped:
            raise
        except ShotcritError as problem:
            found = str(problem)
        if not isinstance(found, str):
            self._carry(old, found, new.id)
        with self._lock:
            self._known[old.sha256, new.sha256] = found
        self._events.post(MeasuredEvent(take=new.id))

    def _carry(self, old: Take, lined_up: LinedUp, take_id: str) -> None:
        """What waited comes along, in one edit, and once. It is no edit of the reviewer's, so undo does not take it back."""

        def act(view: SessionView) -> Edit:
            new = need(view, Take, take_id)
            if new.arrival is None or new.arrival.after != old.id or not new.arrival.waits:
                return Edit(CARRIED, ())
            corrected = view.all(Correction, take=old.id) if "words" in new.arrival.waits else ()
            words = carried_words(corrected, old, new, lined_up.map)
            fields: dict[str, Any] = {}
            says = list(_said(len(words), len(corrected)))
            if "cast" in new.arrival.waits and lined_up.cast is not None:
                fields["cast"] = together(new.cast, lined_up.cast).model_dump(mode="json")
                says = [*lined_up.carried, *says]
            fields["arrival"] = new.arrival.model_copy(update={"waits": (), "says": " ".join(says)}).model_dump(mode="json")
            return Edit(CARRIED, (*update(new, fields), *(make(word) for word in words)))

        self._edits.store(login_name(), act, undoable=False)


def _said(carried: int, of: int) -> Iterator[str]:
    if of:
        rest = "" if carried == of else " The others lie where the sound is another, gone or retimed, and stay behind."
        yield f"{carried} of {counted(of, 'correction')} by hand {'comes' if carried == 1 else 'come'} along.{rest}"
