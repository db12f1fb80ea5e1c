"""What the room tells its windows without being asked. Frames are indices from 0, both ends inside."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shotcrit.crit.records import Id, Index, Shape
from shotcrit.room.jobs.shapes import Job
from shotcrit.room.shapes import RecordName


class EditEvent(Shape):
    """An edit was stored, here or in another window."""

    type: Literal["edit"] = "edit"
    seq: int
    who: str
    what: Literal["edit", "undo", "redo"]
    label: str
    changed: list[RecordName]
    undo: str | None
    redo: str | None


class JobEvent(Shape):
    """A job moved on."""

    type: Literal["job"] = "job"
    job: Job


class FramesEvent(Shape):
    """Frames first..last of a take are ready to be fetched."""

    type: Literal["frames"] = "frames"
    take: Id
    first: Index
    last: Index


class MeasuredEvent(Shape):
    """There is a new measurement of a take: fetch sheet and findings again."""

    type: Literal["measured"] = "measured"
    take: Id


class FollowedEvent(Shape):
    """Marks of a take were followed further: fetch what is followed so far."""

    type: Literal["followed"] = "followed"
    take: Id


class MovedEvent(Shape):
    """The crit was renamed, moved, taken away or replaced while it was open. name: what it is called now; says: where it is saved from now on."""

    type: Literal["moved"] = "moved"
    name: str
    says: str


Event = Annotated[EditEvent | JobEvent | FramesEvent | MeasuredEvent | FollowedEvent | MovedEvent, Field(discriminator="type")]


class Events(Shape):
    """Events after number `after`. last: ask next with after=last. missed: too much happened since; fetch the crit again."""

    last: int
    missed: bool
    events: list[Event]
