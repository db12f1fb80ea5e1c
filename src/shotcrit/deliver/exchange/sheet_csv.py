"""The exposure sheet as a table for spreadsheets: a row a frame, what is said and heard on it, what is still, who looks and blinks, which notes lie there."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from shotcrit.clock import FrameClock, Span, rate_text
from shotcrit.deliver.crit_input import CritForDelivery
from shotcrit.deliver.exchange.format import Format, Made, counting, lost
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings
from shotcrit.readings.marks_csv import plain_cell

COLUMNS = (
    "frame", "timecode", "start_s", "shot", "still", "words", "phones", "breaths", "blinks", "looks", "notes", "first_frame", "rate",
)  # fmt: skip
Column = list[list[str]]
"""What stands on each frame."""


def sheet_csv(crit: CritForDelivery) -> Made:
    """One row a frame. A word stands on every frame that it touches; `still` is 1 where a frame repeats the one before it."""
    readings, count = crit.measured.readings, counting(crit)
    heard, clock = readings.sound or SoundReadings(), readings.clock
    said = {
        "words": _events(clock, ((w.start_s, w.end_s, w.text) for w in heard.words)),
        "phones": _events(clock, ((p.start_s, p.end_s, f"{p.phone}{'' if p.stress is None else p.stress}") for p in heard.phones)),
        "breaths": _events(clock, ((b.start_s, b.end_s, b.kind) for b in heard.breaths)),
        **_seen(readings),
        "notes": _spans(clock, ((one.span, str(number)) for number, one in enumerate(crit.notes, start=1))),
    }
    picture = _picture(readings.picture, len(clock))
    out = io.StringIO()
    table = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    table.writeheader()
    for index in range(len(clock)):
        told = {name: plain_cell(" ".join(column[index])) for name, column in said.items()}
        counted = {"first_frame": count.first_frame, "rate": rate_text(count.rate)}
        where = {"frame": count.shown(index), "timecode": count.timecode(index) or "", "start_s": f"{float(clock.start(index)):.6f}"}
        table.writerow({**where, **picture[index], **told, **counted})
    return Made({"sheet.csv": out.getvalue().encode()}, lost(crit, "The sheet as a table"))


def _events(clock: FrameClock, events: Iterable[tuple[float, float, str]]) -> Column:
    spans = ((clock.frames(start, end), text) for start, end, text in events)
    return _spans(clock, ((span, text) for span, text in spans if span is not None))


def _spans(clock: FrameClock, spans: Iterable[tuple[Span, str]]) -> Column:
    found: Column = [[] for _ in range(len(clock))]
    for span, text in spans:
        for index in range(span.start, min(span.stop, len(clock))):
            found[index].append(text)
    return found


def _seen(readings: Readings) -> dict[str, Column]:
    """Who closes the eyes, and who looks at whom."""
    blinks = ((Span(blink.first, blink.last + 1), blink.who) for blink in readings.blinks)
    looks = ((Span(look.first, look.last + 1), f"{look.who}: {look.at}") for look in readings.looks if not look.proposed)
    return {"blinks": _spans(readings.clock, blinks), "looks": _spans(readings.clock, looks)}


def _picture(picture: PictureReadings | None, frames: int) -> list[dict[str, object]]:
    """The number of the shot, from 1, and whether the frame repeats the one before; empty for a sound alone."""
    if picture is None:
        return [{"shot": "", "still": ""}] * frames
    return [{"shot": 1 + sum(cut <= index for cut in picture.cuts), "still": int(picture.repeats[index])} for index in range(frames)]


FORMAT = Format(
    "sheet-csv",
    "sheet as a table",
    "The exposure sheet as CSV, a row a frame, for a spreadsheet.",
    "Frame, time code and seconds of every row, first frame and exact rate; words, phones, breaths, blinks, looks, and the numbers of the notes. No wave.",
    sheet_csv,
)
