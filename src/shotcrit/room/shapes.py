"""What routes of every part take and answer: refusals, names of records, what an edit answers. Frames are indices from 0, both ends inside."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from shotcrit.crit.records import Shape

Version = Annotated[int, Field(ge=0, le=2**53, description="The version of the thing that this change starts from.")]


class Problem(Shape):
    """Every refusal. says: one sentence for a person. current: with 409, the thing as it is now (null when it is gone)."""

    says: str
    kind: str | None = None
    current: dict[str, Any] | None = None


class RecordName(Shape):
    kind: str
    id: str


class Done(Shape):
    """An edit is stored on disk. seq: its number; label: what it was, in words; changed: what it touched; gone: what it took away."""

    seq: int
    label: str
    changed: tuple[RecordName, ...] = ()
    gone: tuple[RecordName, ...] = ()
