"""Notes and drawings of a file from another program."""

from __future__ import annotations

from pathlib import PurePath

from shotcrit.crit.brought import Arrived
from shotcrit.crit.records import Take
from shotcrit.measuring.bring import arrived, counting_of_take, read_incoming, records, says
from shotcrit.room.edits import Edits
from shotcrit.room.notes.shapes import Brought
from shotcrit.room.worker import PictureMaker

LONGEST_NAME = 80
"""Letters of a file's name in a sentence."""


class Bringing:
    def __init__(self, edits: Edits, worker: PictureMaker) -> None:
        self._edits = edits
        self._worker = worker

    def read(self, take_id: str, name: str, data: bytes, who: str) -> Brought:
        """Put them into the take; one edit. Raises InputError for what cannot be read whole, and NotHere for a take that is gone."""
        take = self._edits.get(Take, take_id)
        clock = self._worker.clock(take) if take.variable_rate else None
        incoming = read_incoming(data, PurePath(name).name[-LONGEST_NAME:] or "the file", counting_of_take(take, clock))
        brought, told = records(incoming, take_id), list[Arrived]()
        self._edits.store(who, lambda view: arrived(view, take_id, brought, told).edit)
        return Brought(notes=told[-1].notes, drawings=told[-1].drawings, known=told[-1].known, says=says(told[-1], incoming))
