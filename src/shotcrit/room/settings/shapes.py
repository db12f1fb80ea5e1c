"""Settings, limits, phrases and the reaction time, as routes take and answer them."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from shotcrit.crit.records import Shape, Short
from shotcrit.crit.unreleased import LINE
from shotcrit.room.shapes import Version


class Settings(Shape):
    """All settings with their values; those never changed have their default.

    keys : action -> key, for actions whose key was changed; limits : 'check.limit' -> value put over the check's own
    columns : names of the sheet's columns in order; hidden : those folded away
    reaction_ms : the reviewer's measured reaction time; reviewer : name put to edits
    unreleased : the line about unreleased pictures on all that is sent; empty for none
    listen_ceiling_db : peak level that 'listen closer' never passes, dB below full scale
    """

    keys: dict[str, str] = Field(default_factory=dict)
    limits: dict[str, float] = Field(default_factory=dict)
    columns: tuple[str, ...] = ()
    hidden: tuple[str, ...] = ()
    layers: tuple[str, ...] = ()
    reaction_ms: Annotated[float, Field(ge=0, le=2000)] = 250.0
    reviewer: Short = ""
    unreleased: Short = LINE
    listen_ceiling_db: Annotated[float, Field(ge=-60, le=-1)] = -12.0
    room: dict[str, Any] = Field(default_factory=dict, description="The page's own small choices (folded panels, zoom), by name.")


class SettingsPatch(Shape):
    """Only what is given changes; null puts a setting back to its default.

    Of keys, too, only those given change, so that two windows may change two of them; null puts one back, or all.
    """

    keys: dict[str, str | None] | None = None
    limits: dict[str, float] | None = None
    columns: Annotated[list[Short], Field(max_length=100)] | None = None
    hidden: Annotated[list[Short], Field(max_length=100)] | None = None
    layers: Annotated[list[Short], Field(max_length=100)] | None = None
    reaction_ms: Annotated[float, Field(ge=0, le=2000)] | None = None
    reviewer: Short | None = None
    unreleased: Short | None = None
    listen_ceiling_db: Annotated[float, Field(ge=-60, le=-1)] | None = None
    room: dict[str, Any] | None = None


class OwnLimit(Shape):
    """One limit. key: 'check.limit'; value: the check's own; own: the reviewer's, null where it was never changed; basis: where value comes from."""

    key: str
    name: str
    value: float
    own: float | None
    unit: str
    basis: str
    help: str


class CheckLimits(Shape):
    """One check and all that it judges by."""

    check: str
    title: str
    help: str
    limits: list[OwnLimit]


class LimitPut(Shape):
    """value: what the check is to judge by from now on; null puts its own value back."""

    value: float | None


class Reactions(Shape):
    """Milliseconds from a flash to the key, one a try, five tries or more."""

    samples_ms: Annotated[list[Annotated[float, Field(ge=0, le=10_000)]], Field(min_length=5, max_length=200)]


class ReactionTime(Shape):
    """reaction_ms: the median of the tries that count, now the setting; spread_ms: their median absolute deviation."""

    reaction_ms: float
    spread_ms: float
    used: int
    left_out: int


class NewPhrase(Shape):
    text: Annotated[str, Field(min_length=1, max_length=20_000)]
    field: Literal["what", "why", "try"] = "what"


class PhrasePatch(Shape):
    version: Version
    text: Annotated[str, Field(min_length=1, max_length=20_000)] | None = None
    field: Literal["what", "why", "try"] | None = None
    used: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
