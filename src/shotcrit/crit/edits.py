"""Edits: every change to a crit is a list of small changes that can be turned round, which is all that undo needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar, cast

from pydantic import ValidationError

from shotcrit.crit.things import KINDS, Kind, Thing
from shotcrit.errors import InputError

T = TypeVar("T", bound=Thing)
Body = dict[str, Any]
"""A thing as JSON, without id and version."""


@dataclass(frozen=True)
class Change:
    """One thing made (before None), unmade (after None) or changed (both hold just the fields that differ)."""

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
    """Somebody else changed the same thing first. `current` is the thing as it is now, None when it is gone."""

    def __init__(self, kind: Kind, thing_id: str, current: Thing | None) -> None:
        what = f"this {kind} was deleted in another window" if current is None else f"this {kind} was changed in another window"
        super().__init__(f"{what}; look at it as it is now, then change it again")
        self.kind = kind
        self.thing_id = thing_id
        self.current = current


def kind_of(thing: Thing) -> Kind:
    """The stored name of a thing's class."""
    return cast(Kind, next(kind for kind, model in KINDS.items() if type(thing) is model))


def to_body(thing: Thing) -> Body:
    """The JSON body of a thing, with the names that JSON uses."""
    return thing.model_dump(mode="json", by_alias=True, exclude={"id", "version"})


def from_body(kind: Kind, thing_id: str, version: int, body: Mapping[str, Any]) -> Thing:
    """The thing again. Raises InputError when the stored body is not one of its kind."""
    try:
        return KINDS[kind].model_validate({**body, "id": thing_id, "version": version})
    except ValidationError as problem:
        raise InputError(
            f"the {kind} '{thing_id}' is not sound ({problem.errors()[0]['msg'].lower()}); restore the crit from a copy"
        ) from problem


def make(thing: Thing) -> Change:
    """The change that adds a thing."""
    return Change(kind_of(thing), thing.id, None, to_body(thing))


def unmake(thing: Thing) -> Change:
    """The change that takes a thing away."""
    return Change(kind_of(thing), thing.id, to_body(thing), None)


def change(old: Thing, new: Thing) -> Change | None:
    """The change from `old` to `new` (same kind and id), or None when they are alike."""
    before, after = to_body(old), to_body(new)
    differ = [name for name in after if before.get(name) != after[name]]
    if not differ:
        return None
    return Change(kind_of(old), old.id, {n: before.get(n) for n in differ}, {n: after[n] for n in differ})


def altered(thing: T, fields: Mapping[str, Any]) -> T:
    """`thing` with JSON `fields` put over it, checked. Raises InputError when the outcome is not sound."""
    try:
        return type(thing).model_validate({**to_body(thing), **fields, "id": thing.id, "version": thing.version})
    except ValidationError as problem:
        first = problem.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or kind_of(thing)
        raise InputError(f"{where} is not right ({first['msg'].lower()}); change it and save again") from problem


def update(thing: Thing, fields: Mapping[str, Any]) -> tuple[Change, ...]:
    """The change that puts `fields` over a thing; empty when nothing differs."""
    found = change(thing, altered(thing, fields))
    return () if found is None else (found,)


def inverse(edit: Edit) -> Edit:
    """The edit that takes `edit` back: each change turned round, last first."""
    return Edit(edit.label, tuple(Change(c.kind, c.id, c.after, c.before) for c in reversed(edit.changes)))


def applied(body: Body | None, step: Change) -> Body | None:
    """The body after a change. Raises ValueError when the body is not what the change starts from."""
    if not step.is_update:
        if body != step.before:
            raise ValueError("the thing is not what the change starts from")
        return step.after
    if body is None or any(body.get(name) != value for name, value in (step.before or {}).items()):
        raise ValueError("the thing is not what the change starts from")
    return {**body, **(step.after or {})}
