"""Marks as a table, out and in."""

from __future__ import annotations

from shotcrit.crit.records import Take
from shotcrit.errors import InputError
from shotcrit.readings.cast import Cast
from shotcrit.readings.marks_csv import cast_to_csv, parse_marks_csv
from shotcrit.room.cast.changes import placed_count
from shotcrit.room.cast.service import Casting
from shotcrit.room.cast.shapes import MarksRead
from shotcrit.room.measured.service import Measurements
from shotcrit.room.takes.service import Takes

MOST_TABLE = 16 * 2**20
"""Bytes of a table of marks that is read: forty marks on every frame of two minutes take 8 MB."""


class MarkTables:
    def __init__(self, takes: Takes, measurements: Measurements, casting: Casting) -> None:
        self._takes = takes
        self._measurements = measurements
        self._casting = casting

    def written(self, take_id: str, *, followed: bool) -> tuple[str, str]:
        """(a file's name, the table). followed: the frames between, too."""
        take = self._takes.get(take_id)
        measured = self._measurements.measured(take) if followed else None
        text = cast_to_csv(take.cast, measured.readings.acting if measured else (), first_frame=take.first_frame)
        return f"{take.label or 'take'}-{take.number}-marks.csv".replace(" ", "_"), text

    def read(self, take_id: str, data: bytes, who: str) -> MarksRead:
        """Put the placed marks of a table into the cast; one edit. Raises InputError for what is no table of marks."""
        text, counts = _text(data), [0]

        def change(take: Take) -> Cast:
            cast = parse_marks_csv(text, take.cast, name="the table")
            counts[0] = placed_count(cast) - placed_count(take.cast)
            return cast

        take = self._casting.change(take_id, who, "read marks from a table", change)
        return MarksRead(take=take, says=f"{placed_count(take.cast)} placed marks, {counts[0]} of them new")


def _text(data: bytes) -> str:
    if len(data) > MOST_TABLE:
        raise InputError(f"the table is over {MOST_TABLE >> 20} MB, which no table of marks needs; give the CSV that was exported")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise InputError("the table is not UTF-8 text; save it as CSV in UTF-8") from problem
