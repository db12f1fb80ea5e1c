"""The cast as the page changes it: parts, contacts, tables of marks, what is known of characters. Frames in a cast are shown frames."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shotcrit.crit.things import Part, Short, Take
from shotcrit.readings.cast import Contact, Name


class NewPart(Part):
    """A character or prop to be added to the cast, without marks yet."""

    name: Name
    kind: Literal["character", "prop"]


class PartName(Part):
    name: Name


class ContactsPut(Part):
    """All contacts of the take. was: the contacts that this change starts from."""

    was: Annotated[list[Contact], Field(max_length=10_000)]
    now: Annotated[list[Contact], Field(max_length=10_000)]


class MarksRead(Part):
    """The take with the marks of a table put in. says: how many, in words."""

    take: Take
    says: str


class LessonHere(Part):
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


class Forgotten(Part):
    who: Short
    count: int
