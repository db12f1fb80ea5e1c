"""Sending, and answers coming back, as routes take and answer them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from shotcrit.crit.records import Id, Note, Shape, Short


class Delivery(Shape):
    """One way of sending a crit. reader: whom it is for; an animator and other programs get only what was taken."""

    kind: str
    name: str
    help: str
    reader: Literal["animator", "colleague", "program"]


class SendOrder(Shape):
    """kinds: which deliveries, none = all that go to an animator. folder: a folder on this computer; null = only kept for download as a zip."""

    take: Id
    kinds: Annotated[tuple[Short, ...], Field(max_length=50)] = ()
    folder: Annotated[str, Field(min_length=1, max_length=4096)] | None = None


class AnswersRead(Shape):
    """notes: those that got an answer; unknown: answers to notes that this crit does not have."""

    notes: list[Note]
    unknown: int
    says: str
