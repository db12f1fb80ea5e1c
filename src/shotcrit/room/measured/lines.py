"""The dialogue of a take, as it is typed or pasted in the room."""

from __future__ import annotations

from shotcrit.crit.edits import Edit, update
from shotcrit.crit.records import Take
from shotcrit.crit.view import need
from shotcrit.measuring.request import said_from_text
from shotcrit.room.edits import Edits
from shotcrit.room.measured.service import Measurements
from shotcrit.room.measured.shapes import LinesSaved, NewLines


class Lines:
    def __init__(self, edits: Edits, measurements: Measurements) -> None:
        self._edits = edits
        self._measurements = measurements

    def put(self, take_id: str, body: NewLines, who: str) -> LinesSaved:
        """Keep the lines, and measure by them where that is asked for. Raises InputError for lines that cannot be read."""
        said_from_text(body.text)
        fields = {"lines": body.text}
        take = self._edits.edited(
            Take, take_id, who, lambda view: Edit("write the lines", update(need(view, Take, take_id), fields)), base=body.version
        )
        return LinesSaved(take=take, job=self._measurements.order(take_id) if body.align else None)
