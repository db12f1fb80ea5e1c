"""Notes as a table for spreadsheets, out and in: one row a note, in reading order.

    number,first,last,first_timecode,last_timecode,start_s,end_s,weight,who,what,why,try,measured,begin,shot,take,first_frame,rate
    1,1046,1052,00:00:43:14,00:00:43:20,1.875000,2.166667,must,Oona,...

first, last : as shown, both inside; start_s, end_s : seconds from the first picture, the end just after the last frame
rate : exact, '24000/1001'; begin : 1 on the note to begin with. To be read, a table needs first and what; the rest may be left out.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from shotcrit.clock import parse_rate, rate_text
from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.deliver.exchange.incoming import Incoming, Source, few_enough, note, same_first_frame, same_rate, text_of
from shotcrit.errors import InputError
from shotcrit.readings.marks_csv import plain_cell, read_cell

COLUMNS = (
    "number", "first", "last", "first_timecode", "last_timecode", "start_s", "end_s", "weight", "who", "what", "why", "try", "measured", "begin",
    "shot", "take", "first_frame", "rate",
)  # fmt: skip
NEEDED = ("first", "what")


def notes_csv(crit: CritForDelivery) -> Made:
    """The table; text that a spreadsheet would run as a formula has a quote before it."""
    out = io.StringIO()
    table = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    table.writeheader()
    count = counting(crit)
    for number, one in enumerate(crit.notes, start=1):
        table.writerow({"number": number, "begin": int(one.id == crit.one_thing), **_of_note(one, count), **_of_take(crit, count)})
    return Made({"notes.csv": out.getvalue().encode("utf-8")}, lost(crit, "A table"))


def _of_note(one: NoteForDelivery, count: Counting) -> dict[str, object]:
    start, stop = count.seconds(one.span)
    words = {"who": one.who or "", "what": one.what, "why": one.why, "try": one.suggest, "measured": one.value}
    return {
        "first": count.shown(one.first),
        "last": count.shown(one.last),
        "first_timecode": count.timecode(one.first) or "",
        "last_timecode": count.timecode(one.last) or "",
        "start_s": f"{float(start):.6f}",
        "end_s": f"{float(stop):.6f}",
        "weight": one.weight,
        **{name: plain_cell(text) for name, text in words.items()},
    }


def _of_take(crit: CritForDelivery, count: Counting) -> dict[str, object]:
    names = {"shot": plain_cell(crit.shot), "take": plain_cell(crit.take_label)}
    return {**names, "first_frame": count.first_frame, "rate": rate_text(count.rate)}


def read_notes_csv(data: bytes, name: str, count: Counting) -> Incoming:
    """Notes of a table with commas, semicolons or tabs. Raises InputError, one sentence that names the line."""
    text = text_of(data, name)
    head = text.partition("\n")[0]
    rows = csv.DictReader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=head.count), strict=True)
    found = []
    try:
        rows.fieldnames = [(column or "").strip().lower() for column in rows.fieldnames or ()]
        if missing := [column for column in NEEDED if column not in rows.fieldnames]:
            raise InputError(
                f"{name} has no column '{missing[0]}'; its first line names the columns: first and what, and last, weight, who, why and try"
            )
        for row in rows:
            if any(isinstance(cell, str) and cell.strip() for cell in row.values()):
                found.append(_note(row, count, f"{name}, line {rows.line_num}"))
                few_enough(len(found), name)
    except csv.Error as problem:
        raise InputError(f"{name}, line {rows.line_num} is not CSV ({problem}); mend it there") from problem
    return Incoming(tuple(found))


def _note(row: Mapping[str, object], count: Counting, where: str) -> NoteForDelivery:
    def cell(column: str) -> str:
        value = row.get(column)
        return read_cell(value) if isinstance(value, str) else ""

    if cell("rate"):
        same_rate(parse_rate(cell("rate")), count, where)
    try:
        first = int(cell("first"))
        last = int(cell("last") or first)
    except ValueError as problem:
        raise InputError(
            f"{where} has a first or last frame that is no whole number; write frames as they are counted in the shot"
        ) from problem
    if told := cell("first_frame"):
        same_first_frame(told, count, where)
    index = count.numbering.index
    return note(
        index(first), index(last), count, where, what=cell("what"), why=cell("why"), suggest=cell("try"), weight=cell("weight").lower(),
        who=cell("who"),
    )  # fmt: skip


FORMAT = Format(
    "csv",
    "table of notes",
    "The notes as CSV, one row a note, for a spreadsheet.",
    "First frame, exact rate, frames, time code, seconds, and all words of a note. No drawings, no pictures, not the word on the whole.",
    notes_csv,
)
SOURCE = Source("CSV", (".csv", ".tsv"), "a table with the columns first and what", read_notes_csv)
