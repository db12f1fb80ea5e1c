"""Edits: every change to a crit is a list of small changes that can be turned round, which is all that undo needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar, cast

from pydantic import ValidationError

from shotcrit.crit.records import KINDS, Kind, Record
from shotcrit.errors import InputError

T = TypeVar("T", bound=Record)
Body = dict[str, Any]
"""A record as JSON, without id and version."""


@dataclass(frozen=True)
class Change:
    """One record made (before None), unmade (after None) or changed (both hold just the fields that differ)."""

    kind: Kind
    id: str
    before: Body | None
    after: Body | None

    @property
    def touches(self) -> frozenset[str]:
        """Names of the fields it changes; making or unmaking touches all."""
        return frozenset({**(self.before or {}), **(self.after or {})})

    @property
    def is_update(self) -> bool:
        return self.before is not None and self.after is not None


@dataclass(frozen=True)
class Edit:
    """What one act of the reviewer changed. label: in plain words, such as 'write a note'."""

    label: str
    changes: tuple[Change, ...]


class Clash(InputError):
    """Somebody else changed the same record first. `current` is the record as it is now, None when it is gone."""

    def __init__(self, kind: Kind, record_id: str, current: Record | None) -> None:
        what = f"this {kind} was deleted in another window" if current is None else f"this {kind} was changed in another window"
        super().__init__(f"{what}; look at it as it is now, then change it again")
        self.kind = kind
        self.record_id = record_id
        self.current = current


def kind_of(record: Record) -> Kind:
    """The stored name of a record's class."""
    return cast(Kind, next(kind for kind, model in KINDS.items() if type(record) is model))


def to_body(record: Record) -> Body:
    """The JSON body of a record, with the names that JSON uses."""
    return record.model_dump(mode="json", by_alias=True, exclude={"id", "version"})


def from_body(kind: Kind, record_id: str, version: int, body: Mapping[str, Any]) -> Record:
    """The record again. Raises InputError when the stored body is not one of its kind."""
    if not isinstance(body, Mapping):
        raise InputError(f"the {kind} '{record_id}' is not sound (what is stored of it is no object); restore the crit from a copy")
    try:
        return KINDS[kind].model_validate({**body, "id": record_id, "version": version})
    except ValidationError as problem:
        raise InputError(
            f"the {kind} '{record_id}' is not sound ({problem.errors()[0]['msg'].lower()}); restore the crit from a copy"
        ) from problem


def make(record: Record) -> Change:
    """The change that adds a record."""
    return Change(kind_of(record), record.id, None, to_body(record))


def unmake(record: Record) -> Change:
    """The change that takes a record away."""
    return Change(kind_of(record), record.id, to_body(record), None)


def change(old: Record, new: Record) -> Change | None:
    """The change from `old` to `new` (same kind and id), or None when they are alike."""
    before, after = to_body(old), to_body(new)
    differ = [name for name in after if before.get(name) != after[name]]
    if not differ:
        return None
    return Change(kind_of(old), old.id, {n: before.get(n) for n in differ}, {n: after[n] for n in differ})


def altered(record: T, fields: Mapping[str, Any]) -> T:
    """`record` with JSON `fields` put over it, checked. Raises InputError when the outcome is not sound."""
    try:
        return type(record).model_validate({**to_body(record), **fields, "id": record.id, "version": record.version})
    except ValidationError as problem:
        first = problem.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or kind_of(record)
        raise InputError(f"{where} is not right ({first['msg'].lower()}); change it and save again") from problem


def update(record: Record, fields: Mapping[str, Any]) -> tuple[Change, ...]:
    """The change that puts `fields` over a record; empty when nothing differs."""
    found = change(record, altered(record, fields))
    return () if found is None else (found,)


def inverse(edit: Edit) -> Edit:
    """The edit that takes `edit` back: each change turned round, last first."""
    return Edit(edit.label, tuple(Change(c.kind, c.id, c.after, c.before) for c in reversed(edit.changes)))


def applied(body: Body | None, step: Change) -> Body | None:
    """The body after a change. Raises ValueError when the body is not what the change starts from."""
    if not step.is_update:
        if body != step.before:
            raise ValueError("the record is not what the change starts from")
        return step.after
    if body is None or any(body.get(name) != value for name, value in (step.before or {}).items()):
        raise ValueError("the record is not what the change starts from")
    return {**body, **(step.after or {})}
