"""The crit as a whole: takes, settings, lines, cast, sending. Frames are indices from 0, both ends inside."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from shotcrit.crit.things import Correction, Decision, Drawing, Id, Marker, Note, Part, Phrase, Short, Shot, Take, Text
from shotcrit.readings.cast import Cast, LookAt, Placed
from shotcrit.room.shapes.common import Job, Version


class Media(Part):
    """Where a take's movie is. 'moved': not at its path; point the room to it. 'changed': another file lies at its path."""

    take: Id
    state: Literal["here", "moved", "changed"]
    says: str


class Settings(Part):
    """All settings with their values; those never changed have their default.

    keys : action -> key, for actions whose key was changed; limits : 'check.limit' -> value put over the check's own
    columns : names of the sheet's columns in order; hidden : those folded away
    reaction_ms : the reviewer's measured reaction time; reviewer : name put to edits
    listen_ceiling_db : peak level that 'listen closer' never passes, dB below full scale
    """

    keys: dict[str, str] = Field(default_factory=dict)
    limits: dict[str, float] = Field(default_factory=dict)
    columns: tuple[str, ...] = ()
    hidden: tuple[str, ...] = ()
    layers: tuple[str, ...] = ()
    reaction_ms: Annotated[float, Field(ge=0, le=2000)] = 250.0
    reviewer: Short = ""
    listen_ceiling_db: Annotated[float, Field(ge=-60, le=-1)] = -12.0
    room: dict[str, Any] = Field(default_factory=dict, description="The page's own small choices (folded panels, zoom), by name.")


class SettingsPatch(Part):
    """Only what is given changes; null puts a setting back to its default.

    Of keys, too, only those given change, so that two windows may change two of them; null puts one back, or all.
    """

    keys: dict[str, str | None] | None = None
    limits: dict[str, float] | None = None
    columns: Annotated[list[Short], Field(max_length=100)] | None = None
    hidden: Annotated[list[Short], Field(max_length=100)] | None = None
    layers: Annotated[list[Short], Field(max_length=100)] | None = None
    reaction_ms: Annotated[float, Field(ge=0, le=2000)] | None = None
    reviewer: Short | None = None
    listen_ceiling_db: Annotated[float, Field(ge=-60, le=-1)] | None = None
    room: dict[str, Any] | None = None


class CritState(Part):
    """The whole crit. seq: number of the last edit; undo, redo: labels of what they would take back or bring back, null when nothing."""

    name: str
    seq: int
    undo: str | None
    redo: str | None
    shots: list[Shot]
    takes: list[Take]
    notes: list[Note]
    drawings: list[Drawing]
    decisions: list[Decision]
    markers: list[Marker]
    corrections: list[Correction]
    phrases: list[Phrase]
    settings: Settings
    media: list[Media]


class ShotPatch(Part):
    version: Version
    name: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    sequence: Short | None = None


class NewTake(Part):
    """A further take of a shot. path: a movie in one of the folders that this room may read; cast and lines come from the take before."""

    path: Annotated[str, Field(min_length=1, max_length=4096)]
    shot: Id | None = Field(default=None, description="A shot of this crit; null for a new shot named after the movie.")
    label: Short = ""


class TakePatch(Part):
    version: Version
    label: Short | None = None
    animator: Short | None = None
    first_frame: Annotated[int, Field(ge=-10_000_000, le=10_000_000)] | None = None
    medium: Literal["cg", "drawn"] | None = None
    overall: Text | None = None
    one_thing: Id | None = Field(default=None, description="Id of the note that matters most; null for none.")


class WhereIsIt(Part):
    """The movie's new place. It must be the same file (by its hash)."""

    path: Annotated[str, Field(min_length=1, max_length=4096)]


class MediaFile(Part):
    """A movie or sound in a folder that this room may read. take: the id of the take it already is, if any."""

    path: str
    name: str
    take: Id | None = None


class NewLines(Part):
    """The dialogue: one speech a line, `Name: words` (the name may be left out), a screenplay's page, WebVTT or SubRip. align: start aligning at once."""

    version: Version
    text: Annotated[str, Field(max_length=200_000)]
    align: bool = True


class LinesSaved(Part):
    take: Take
    job: Job | None


class CastPut(Part):
    version: Version
    cast: Cast


class MarkPut(Part):
    """The placed points of one mark. was: the points that this change starts from; other marks may change meanwhile."""

    was: Annotated[list[Placed], Field(max_length=100_000)]
    now: Annotated[list[Placed], Field(max_length=100_000)]


class LooksPut(Part):
    """All looks of the take. was: the looks that this change starts from."""

    was: Annotated[list[LookAt], Field(max_length=10_000)]
    now: Annotated[list[LookAt], Field(max_length=10_000)]


class Delivery(Part):
    """One way of sending a crit."""

    kind: str
    name: str
    help: str


class SendOrder(Part):
    """kinds: which deliveries, none = all. folder: a folder on this computer; null = only kept for download as a zip."""

    take: Id
    kinds: Annotated[tuple[Short, ...], Field(max_length=50)] = ()
    folder: Annotated[str, Field(min_length=1, max_length=4096)] | None = None


class AnswersRead(Part):
    """notes: those that got an answer; unknown: answers to notes that this crit does not have."""

    notes: list[Note]
    unknown: int
    says: str
