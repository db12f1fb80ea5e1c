"""Lists of what was found and heard, for scripts and notebooks: frames as people count them, both ends in; seconds from the first picture."""

from __future__ import annotations

import dataclasses
import html
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar, overload

from shotcrit.counted import counted
from shotcrit.library.tables import frame_of

MOST_SHOWN = 24
"""Rows of a table in a notebook; the rest is counted."""


@dataclass(frozen=True)
class Item:
    """One of them. Two are equal when all their fields are."""


@dataclass(frozen=True)
class Finding(Item):
    """What a check proposes. limit : what the value was held against; basis : where that limit comes from; suggest : what to try; level : see the docs"""

    check: str
    kind: str
    who: str | None
    first: int
    last: int
    value: float
    unit: str
    limit: float
    weight: str
    confidence: float
    level: float
    says: str
    suggest: str
    basis: str


@dataclass(frozen=True)
class NotMeasured(Item):
    """What could not be measured, for whom, and what that would need."""

    check: str
    who: str | None
    needs: str


@dataclass(frozen=True)
class Word(Item):
    """first, last : None where the word lies outside of the pictures; line : index of the given line"""

    text: str
    who: str | None
    start_s: float
    end_s: float
    first: int | None
    last: int | None
    confidence: float
    line: int


@dataclass(frozen=True)
class Phone(Item):
    """phone : in the CMU Pronouncing Dictionary's symbols; word : index of the word"""

    phone: str
    stress: int | None
    word: int | None
    who: str | None
    start_s: float
    end_s: float
    first: int | None
    last: int | None


@dataclass(frozen=True)
class Breath(Item):
    """kind : inhale, exhale or smack; level_db : over the noise of its pause"""

    kind: str
    who: str | None
    start_s: float
    end_s: float
    first: int | None
    last: int | None
    level_db: float
    confidence: float


@dataclass(frozen=True)
class Tremor(Item):
    """A shake of the voice. carrier : level or pitch"""

    start_s: float
    end_s: float
    first: int | None
    last: int | None
    rate_hz: float
    depth: float
    carrier: str


@dataclass(frozen=True)
class Accent(Item):
    """Where the voice leans. strength : 1 = the shot's median accent; rank 1 is the strongest"""

    time_s: float
    frame: int
    strength: float
    rank: int
    word: int | None


@dataclass(frozen=True)
class Line(Item):
    """A given line, and whether it was said. problem : why not, or what is doubtful

    why : 'otherwise' (something else was said, in all or part of it), 'unclear' (it cannot be heard in this sound), 'silent' (nobody speaks there),
        'unsayable' (nothing is known of how it is said), or None
    instead : the phones that were heard in its place, with blanks between
    """

    text: str
    who: str | None
    heard: bool
    confidence: float
    problem: str | None
    why: str | None
    instead: str | None


@dataclass(frozen=True)
class Look(Item):
    """Who looks at what. proposed : read from the eyes, not said by the cast"""

    who: str
    at: str
    first: int
    last: int
    proposed: bool
    confidence: float


@dataclass(frozen=True)
class Blink(Item):
    """shut : the frame with the least opening; partial : the eye was never shut"""

    who: str
    first: int
    shut: int
    last: int
    partial: bool


One = TypeVar("One", bound=Item)


class Items(Sequence[One], Generic[One]):
    """A list that cannot be changed, of things of one type. noun : what one of them is called"""

    def __init__(self, items: Iterable[One], kind: type[One], noun: str, many: str | None = None) -> None:
        self._items, self._kind, self._noun, self._many = tuple(items), kind, noun, many

    @overload
    def __getitem__(self, at: int) -> One: ...
    @overload
    def __getitem__(self, at: slice) -> Items[One]: ...
    def __getitem__(self, at: int | slice) -> One | Items[One]:
        return self._of(self._items[at]) if isinstance(at, slice) else self._items[at]

    def __len__(self) -> int:
        return len(self._items)

    def __iter__(self) -> Iterator[One]:
        return iter(self._items)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Items) and self._items == other._items

    def __hash__(self) -> int:
        return hash(self._items)

    def where(self, **wanted: object) -> Items[One]:
        """Those whose fields have these values: findings.where(check='hold', weight='must'). Raises AttributeError for a field that there is not."""
        for name in set(wanted) - set(self._names):
            raise AttributeError(f"a {self._noun} has no '{name}'; it has {', '.join(self._names)}")
        kept = (item for item in self._items if all(getattr(item, name) == value for name, value in wanted.items()))
        return self._of(kept)

    def to_frame(self, library: str | None = None) -> Any:
        """A data frame with a column for each field. library : 'pandas' or 'polars'; the one that is installed if not said, pandas first"""
        return frame_of(self.columns(), library)

    def columns(self) -> Mapping[str, list[Any]]:
        """Each field as a list."""
        return {name: [getattr(item, name) for item in self._items] for name in self._names}

    def _of(self, items: Iterable[One]) -> Items[One]:
        return Items(items, self._kind, self._noun, self._many)

    @property
    def _names(self) -> list[str]:
        return [field.name for field in dataclasses.fields(self._kind)]

    def __repr__(self) -> str:
        return f"<{counted(len(self), self._noun, self._many)}>"

    def _repr_html_(self) -> str:
        return table_html(self.columns(), repr(self).strip("<>"))


def table_html(columns: Mapping[str, Sequence[Any]], says: str) -> str:
    """A table for a notebook, its first rows."""
    rows = list(zip(*columns.values(), strict=True))
    head = "".join(f"<th>{html.escape(name)}</th>" for name in columns)
    body = "".join("<tr>" + "".join(f"<td>{_cell(value)}</td>" for value in row) + "</tr>" for row in rows[:MOST_SHOWN])
    more = f"; the first {MOST_SHOWN} are shown" if len(rows) > MOST_SHOWN else ""
    return f"<table><caption>{html.escape(says)}{more}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return html.escape(f"{value:.4g}" if isinstance(value, float) else str(value))
