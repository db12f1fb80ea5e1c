"""What a check says of itself. Only the names in Check are asked for; the rest has a default, so that the smallest check is a module of five names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol, get_args

from shotcrit.checks.finding import Limit, Result
from shotcrit.readings.bundle import Readings

Limits = Mapping[str, float]
"""Values of one check's limits by name."""
Column = Literal["picture", "sound", "words", "phones", "air", "mouth", "eyes", "body"]
"""A column of the sheet."""
COLUMNS: tuple[str, ...] = get_args(Column)


class Check(Protocol):
    """A check: a module or object with these names. `run` is pure. What it may say besides stands in About."""

    ID: str
    TITLE: str
    HELP: str
    LIMITS: tuple[Limit, ...]

    def run(self, readings: Readings, limits: Limits) -> Result:
        """Compare readings with limits (every name of LIMITS is there)."""


@dataclass(frozen=True)
class Kind:
    """One kind of finding. words : as people call it, after the check's own name ('off target')

    draws : what the sheet draws on the finding's rows, besides its bracket: 'miss' the look of `who` is off its target, 'still' nothing moves
    """

    id: str
    words: str
    draws: Literal["", "miss", "still"] = ""


@dataclass(frozen=True)
class Needs:
    """What a check needs to say all that it can; with less it says less, or what it lacks.

    of : parts of the readings
    marks : marks of whoever is judged; theirs : marks of who or what that one looks at; contacts : the marks that the cast's contacts name
    """

    of: tuple[Literal["pictures", "sound", "lines", "cast"], ...] = ()
    marks: tuple[str, ...] = ()
    theirs: tuple[str, ...] = ()
    contacts: bool = False


@dataclass(frozen=True)
class About:
    """Everything that a check says of itself, by the names ID, TITLE, HELP, LIMITS, NAME, KINDS, COLUMN, NEEDS, VERSION.

    name : as people call it in a table ('eye line'); its id where it says none
    kinds : empty where it says none; a kind that is not here is called by its id
    column : of the sheet, where its curves are drawn; None: the findings' own column alone
    version : of its rule; a measurement that was made by another version is made again
    """

    id: str
    title: str
    help: str
    limits: tuple[Limit, ...]
    name: str
    kinds: Mapping[str, Kind] = field(default_factory=dict)
    column: Column | None = None
    needs: Needs = field(default_factory=Needs)
    version: int = 0


def about(check: Any) -> About:
    """Read what a check says of itself. Raises ValueError, a phrase that says what is wrong with it."""
    identity = _text(check, "ID")
    limits, kinds = tuple(getattr(check, "LIMITS", ())), tuple(getattr(check, "KINDS", ()))
    needs, column, version = getattr(check, "NEEDS", Needs()), getattr(check, "COLUMN", None), getattr(check, "VERSION", 0)
    _require(identity.isidentifier(), f"its ID '{identity[:40]}' is no single word of letters, digits and underscores")
    _require(callable(getattr(check, "run", None)), "it has no run(readings, limits)")
    _require(all(isinstance(limit, Limit) for limit in limits), "its LIMITS hold something that is no Limit")
    _require(all(isinstance(kind, Kind) for kind in kinds), "its KINDS hold something that is no Kind")
    _require(isinstance(needs, Needs), "its NEEDS are no Needs")
    _require(column is None or column in COLUMNS, f"its COLUMN is none of {', '.join(COLUMNS)}")
    _require(isinstance(version, int), "its VERSION is no whole number")
    return About(
        id=identity, title=_text(check, "TITLE"), help=_text(check, "HELP"), limits=limits, name=str(getattr(check, "NAME", identity)),
        kinds={kind.id: kind for kind in kinds}, column=column, needs=needs, version=version,
    )  # fmt: skip


def _text(check: Any, name: str) -> str:
    said = getattr(check, name, None)
    if not isinstance(said, str) or not said.strip():
        raise ValueError(f"it has no {name}")
    return said


def _require(good: bool, otherwise: str) -> None:
    if not good:
        raise ValueError(otherwise)
