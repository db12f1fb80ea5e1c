"""Notes and drawings as JSON for scripts, out and in: all that the reviewer wrote, strokes as the pen gave them. `shotcrit.notes/1`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, ValidationError

from shotcrit.clock import parse_rate, rate_text
from shotcrit.crit.records import Shape, Stroke, Weight
from shotcrit.deliver.crit_input import CritForDelivery, NoteForDelivery
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.format import Format, Made, counting
from shotcrit.deliver.exchange.incoming import MOST_NOTES, Incoming, Source, drawn, note, same_first_frame, same_rate, text_of
from shotcrit.errors import InputError

SCHEMA: Literal["shotcrit.notes/1"] = "shotcrit.notes/1"
Shown = Annotated[int, Field(ge=-(10**8), le=10**8)]


class DrawingOut(Shape):
    """Strokes over frames first..last, as shown. Points: x, y (fractions of the picture), pressure, milliseconds."""

    first: Shown
    last: Shown
    strokes: tuple[Stroke, ...] = ()


class NoteOut(Shape):
    """One note. Frames as shown; start_s, end_s: seconds from the first picture, half-open."""

    id: str = ""
    first: Shown
    last: Shown
    first_timecode: str | None = None
    last_timecode: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    weight: Weight = "polish"
    who: str | None = None
    what: str = ""
    why: str = ""
    suggest: str = Field(default="", alias="try")
    measured: str = ""
    still: Shown | None = None
    drawings: Annotated[tuple[DrawingOut, ...], Field(max_length=200)] = ()


class MovieOut(Shape):
    """Which movie, and how it is counted. timecode: of the first picture, null at rates that have none."""

    name: str = ""
    sha256: str = ""
    frames: int | None = None
    first_frame: Shown
    rate: str
    timecode: str | None = None
    drop_frame: bool = False
    variable_rate: bool = False
    width: int | None = None
    height: int | None = None


class NotesFile(Shape):
    """The whole file."""

    format: Literal["shotcrit.notes/1"] = Field(default=SCHEMA, alias="schema")
    shot: str = ""
    take: str = ""
    movie: MovieOut
    overall: str = ""
    begin: str | None = None
    unreleased: str = ""
    notes: Annotated[tuple[NoteOut, ...], Field(max_length=MOST_NOTES)] = ()


def notes_json(crit: CritForDelivery) -> Made:
    """The file, UTF-8."""
    count = counting(crit)
    info = crit.measured.readings.movie
    movie = MovieOut(
        name=info.name, sha256=info.sha256, frames=info.frames, first_frame=count.first_frame, rate=rate_text(count.rate),
        timecode=count.timecode(0), drop_frame=count.drop, variable_rate=count.variable, width=info.width, height=info.height,
    )  # fmt: skip
    whole = NotesFile(
        shot=crit.shot, take=crit.take_label, movie=movie, overall=crit.overall, begin=crit.one_thing, unreleased=crit.unreleased,
        notes=tuple(note_out(one, count) for one in crit.notes),
    )  # fmt: skip
    return Made({"notes.json": (whole.model_dump_json(by_alias=True, indent=1) + "\n").encode()}, (count.remark,) if count.remark else ())


def note_out(one: NoteForDelivery, count: Counting) -> NoteOut:
    start, stop = count.seconds(one.span)
    return NoteOut(
        id=one.id, first=count.shown(one.first), last=count.shown(one.last), first_timecode=count.timecode(one.first),
        last_timecode=count.timecode(one.last), start_s=float(start), end_s=float(stop), weight=one.weight, who=one.who, what=one.what,
        why=one.why, suggest=one.suggest, measured=one.value, still=None if one.at is None else count.shown(one.at),
        drawings=tuple(DrawingOut(first=count.shown(d.first), last=count.shown(d.last), strokes=d.strokes) for d in one.drawings),
    )  # fmt: skip


def read_notes_json(data: bytes, name: str, count: Counting) -> Incoming:
    """Notes and drawings of such a file. Raises InputError, one sentence."""
    text_of(data, name)
    try:
        whole = NotesFile.model_validate_json(data)
    except ValidationError as problem:
        first = problem.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        raise InputError(f"{name} holds no notes that can be read ({where}: {first['msg'].lower()}); give a file of {SCHEMA}") from problem
    same_rate(parse_rate(whole.movie.rate), count, name)
    same_first_frame(str(whole.movie.first_frame), count, name)
    return Incoming(tuple(_in(one, count, f"{name}, note {number}") for number, one in enumerate(whole.notes, start=1)))


def _in(one: NoteOut, count: Counting, where: str) -> NoteForDelivery:
    index = count.numbering.index
    return note(
        index(one.first), index(one.last), count, where, what=one.what, why=one.why, suggest=one.suggest, weight=one.weight, who=one.who or "",
        id=one.id, at=None if one.still is None else index(one.still),
        drawings=[drawn(index(d.first), index(d.last), d.strokes, count, where) for d in one.drawings],
    )  # fmt: skip


FORMAT = Format(
    "notes-json",
    "notes as JSON",
    "Notes and drawings as JSON, for scripts.",
    "All of it: first frame, exact rate, frames, time code, seconds, every word, and each stroke as the pen gave it. No pictures.",
    notes_json,
)
SOURCE = Source("JSON", (".json",), "notes as JSON that `--only notes-json` wrote", read_notes_json)
