"""The cast as the page changes it: marks, looks, characters and props, contacts, tables, what is known of characters. Frames in a cast are shown frames."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shotcrit.crit.records import Shape, Short, Take
from shotcrit.readings.cast import Cast, Contact, FaceOf, LookAt, Name, Placed
from shotcrit.room.shapes import Version


class CastPut(Shape):
    version: Version
    cast: Cast


class CastRecount(Shape):
    """Move the whole cast, which counts the first picture by `counted_from`, to the take's own numbers."""

    version: Version
    counted_from: Annotated[int, Field(ge=-10_000_000, le=10_000_000)]


class MarkPut(Shape):
    """The placed points of one mark. was: the points that this change starts from; other marks may change meanwhile."""

    was: Annotated[list[Placed], Field(max_length=100_000)]
    now: Annotated[list[Placed], Field(max_length=100_000)]


class LooksPut(Shape):
    """All looks of the take. was: the looks that this change starts from."""

    was: Annotated[list[LookAt], Field(max_length=10_000)]
    now: Annotated[list[LookAt], Field(max_length=10_000)]


class NewPart(Shape):
    """A character or prop to be added to the cast, without marks yet."""

    name: Name
    kind: Literal["character", "prop"]


class FacesPut(Shape):
    """Whose the faces are that were found, each by a point of the picture on a shown frame; what was said of the same points before is forgotten."""

    faces: Annotated[list[FaceOf], Field(min_length=1, max_length=2_000)]


class FaceConfirmed(Shape):
    """Proposed marks of a found face, by name, that become placed marks of a character; one edit, and the character is added where missing."""

    face: FaceOf
    marks: Annotated[dict[str, list[Placed]], Field(min_length=1, max_length=100)]


class PartName(Shape):
    name: Name


class ContactsPut(Shape):
    """All contacts of the take. was: the contacts that this change starts from."""

    was: Annotated[list[Contact], Field(max_length=10_000)]
    now: Annotated[list[Contact], Field(max_length=10_000)]


class MarksRead(Shape):
    """The take with the marks of a table put in. says: how many, in words."""

    take: Take
    says: str


class LessonHere(Shape):
    """What one shot taught of a character.

    movie: hash that names it; mouths: marked frames of the mouth; eyes: sides; own: it is this take's; serves: this take was measured with it
    """

    who: Short
    shot: str
    movie: str
    when: str
    mouths: int
    eyes: list[str]
    own: bool
    serves: bool


class Forgotten(Shape):
    who: Short
    count: int
