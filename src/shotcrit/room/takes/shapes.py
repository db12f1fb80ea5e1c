"""Takes and their movies, as routes take and answer them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shotcrit.crit.records import FrameRange, Id, Index, Note, Shape, Short, Text
from shotcrit.readings.bundle import Medium
from shotcrit.room.shapes import Version


class Media(Shape):
    """Where a take's movie is. 'moved': not at its path; point the room to it. 'changed': another file lies at its path."""

    take: Id
    state: Literal["here", "moved", "changed"]
    says: str


class NewTake(Shape):
    """A further take of a shot. path: a movie in one of the folders that this room may read; lines and who is in it come from the take before."""

    path: Annotated[str, Field(min_length=1, max_length=4096)]
    shot: Id | None = Field(default=None, description="A shot of this crit; null for a new shot named after the movie.")
    label: Short = ""


class TakePatch(Shape):
    version: Version
    label: Short | None = None
    animator: Short | None = None
    first_frame: Annotated[int, Field(ge=-10_000_000, le=10_000_000)] | None = None
    medium: Medium | None = None
    counts: FrameRange | None = Field(default=None, description="The frames that are judged; null for all of them.")
    overall: Text | None = None
    one_thing: Id | None = Field(default=None, description="Id of the note that matters most; null for none.")


class WhereIsIt(Shape):
    """The movie's new place. It must be the same file (by its hash)."""

    path: Annotated[str, Field(min_length=1, max_length=4096)]


class MediaFile(Shape):
    """A movie or sound in a folder that this room may read. take: the id of the take it already is, if any."""

    path: str
    name: str
    take: Id | None = None


Side = Literal["before", "after"]
"""In the cut."""


class ShotBeside(Shape):
    """A shot whose movie lies beside this one's. url: its last picture where it comes before, its first where it comes after."""

    name: str
    url: str


class ShotsBeside(Shape):
    """The shots before and after, by the order of names in the movie's folder; None where there is none."""

    before: ShotBeside | None
    after: ShotBeside | None


class ReferencePut(Shape):
    """What to lay beside a take, and by how much later than the take's it is shown; no path: nothing any more."""

    path: Annotated[str, Field(max_length=4096)] | None
    offset_s: Annotated[float, Field(ge=-36_000, le=36_000)] = 0.0


class Reference(Shape):
    """What lies beside a take. frames: for each of the take's frames its own, null before its start and past its end; frame_s: one of its frames.

    url: put the index for {index}.
    """

    path: str
    name: str
    offset_s: float
    frame_s: float
    frames: list[int | None]
    url: str


class AskedNote(Shape):
    """A note of an older take, where it lies on the newer one.

    note : as it was asked, its frames those of its own take; asked_on : numbers of the takes on which it was, the first one first
    first, last, still : frames of the newer take; null while the takes are not lined up, and where its frames are gone
    sure : 0..1, how sure it is that these are its frames; gone : whether none of them is there
    verdict : what was measured again says to it, or the map of change; null: nothing yet. Only the reviewer settles a note
    """

    note: Note
    asked_on: list[int]
    first: Index | None
    last: Index | None
    still: Index | None
    sure: float | None
    gone: bool
    verdict: Literal["moved", "unchanged", "worse", "cannot tell"] | None
    says: str


class Asked(Shape):
    """What was asked on older takes of the shot and is to be answered on this one; what was praised and is no longer as it was comes first.

    lined_up : whether the takes are; says : what that waits for, or why it cannot be, one sentence
    arrived : what came along from the take before; remarks : what is otherwise on the whole take
    new_findings : keys of what was found on this take and not on the one before
    """

    take: Id
    lined_up: bool
    says: str
    arrived: str
    remarks: list[str]
    notes: list[AskedNote]
    new_findings: list[str]


class LinedStretch(Shape):
    """A stretch over which time runs in one way. first, last : of the newer take; old_first, old_last : of the older; null where that one has none of it

    kind : 'alike' frame for frame; 'held' the picture stands; 'slower', 'faster' retimed; 'inserted' is new; 'gone' is no longer there
    at : frame of the newer take before which what is gone lay, else its first; says : one sentence, empty where it runs as it did
    """

    kind: Literal["alike", "held", "slower", "faster", "inserted", "gone"]
    first: Index | None
    last: Index | None
    old_first: Index | None
    old_last: Index | None
    at: Index
    says: str


class LinedTake(Shape):
    """An older take of the shot, as its frames lie in this one.

    old_of : for each frame of this take the older one's, null where it is new; sure : 0..1 for each, that this is right to a frame
    framing : a to f; the point (x, y) of this picture is (ax + by + c, dx + ey + f) of the older one; null where both are framed alike
    """

    take: Id
    number: int
    old_of: list[Index | None]
    sure: list[float]
    stretches: list[LinedStretch]
    framing: tuple[float, float, float, float, float, float] | None


class SettleNote(Shape):
    """done: it was done, or what was praised is still there; again: ask it on this take; dropped: not wanted any more; null: nothing is said yet."""

    version: Version
    how: Literal["done", "again", "dropped"] | None
