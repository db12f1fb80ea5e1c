"""Refusals, what an edit answers, history, jobs, packed arrays. Frames are indices from 0, both ends inside."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from shotcrit.crit.things import Id, Part

Version = Annotated[int, Field(ge=0, le=2**53, description="The version of the thing that this change starts from.")]


class Problem(Part):
    """Every refusal. says: one sentence for a person. current: with 409, the thing as it is now (null when it is gone)."""

    says: str
    kind: str | None = None
    current: dict[str, Any] | None = None


class ThingName(Part):
    kind: str
    id: str


class Done(Part):
    """An edit is stored on disk. seq: its number; label: what it was, in words; changed: what it touched; gone: what it took away."""

    seq: int
    label: str
    changed: tuple[ThingName, ...] = ()
    gone: tuple[ThingName, ...] = ()


class HistoryEntry(Part):
    """One edit. what: 'edit', or 'undo' or 'redo' of edit number `of`."""

    seq: int
    when: str
    who: str
    what: Literal["edit", "undo", "redo"]
    of: int | None
    label: str
    changed: list[ThingName]


class History(Part):
    """Newest first. older: ask again with before=older; null at the beginning."""

    entries: list[HistoryEntry]
    older: int | None


class Job(Part):
    """Work in the background. done and total in the stage's own unit; says: the outcome or what went wrong, one sentence."""

    id: Id
    kind: Literal["measure", "frames", "send"]
    take: Id
    state: Literal["waiting", "running", "done", "stopped", "failed"]
    stage: str
    done: float
    total: float | None
    says: str
    files: tuple[str, ...] = ()


class Packed(Part):
    """An array: little-endian, C order, base64. float32 uses NaN for 'not measured'."""

    dtype: Literal["float32", "int8", "uint8"]
    shape: list[int]
    data: str
