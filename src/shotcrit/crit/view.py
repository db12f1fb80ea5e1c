"""How pure functions look at a crit: whoever stores it offers a view of one moment."""

from __future__ import annotations

from typing import Protocol, TypeVar

from shotcrit.crit.records import Record
from shotcrit.errors import InputError

T = TypeVar("T", bound=Record)


class NotHere(InputError):
    """The crit has no such thing."""


class View(Protocol):
    """A crit as it is at one moment."""

    def get(self, model: type[T], record_id: str) -> T | None:
        """The record with this id, or None."""

    def all(self, model: type[T], *, take: str | None = None) -> tuple[T, ...]:
        """Every record of one kind, in the order they came; only those of one take, for kinds that belong to takes."""


def need(view: View, model: type[T], record_id: str) -> T:
    """The record with this id. Raises NotHere when there is none."""
    found = view.get(model, record_id)
    if found is None:
        raise NotHere(f"this crit has no {model.__name__.lower()} '{record_id}'; it may have been deleted in another window")
    return found
