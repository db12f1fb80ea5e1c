"""What a check hands on: findings (proposals, never notes), what it could not measure, and the limits that it judged by."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from shotcrit.clock import Span

Weight = Literal["must", "polish", "keep"]
"""As of a note: what holds the shot back, what would better it, what is done well and should stay."""
Level = float
"""Of input: 0 the movie alone, 1 and lines, 1.5 and faces that were found, 2 and marks that a person placed or confirmed, 3 and a scene."""
COMMON = "common practice, no source"
"""Basis of a rule of thumb of the trade."""
MOST_SURE = 0.99
"""Nothing is certain."""
MOST_SURE_ASSUMED = 0.6
"""Nor is anything more than likely that rests on an assumption."""


def pair_of(one: str, other: str) -> str:
    """`who` of a finding that is about two people, until something tells whose fault it is: 'Oona and Bram'."""
    return f"{one} and {other}"


@dataclass(frozen=True)
class Limit:
    """A number that a check judges by. `basis` is the published source, or COMMON, or 'guess: why'."""

    name: str
    value: float
    unit: str
    basis: str
    help: str


@dataclass(frozen=True)
class Curve:
    """Evidence on the sheet: seen against wanted, one value a frame from `first` on; nan where unknown."""

    name: str
    unit: str
    first: int
    seen: tuple[float, ...]
    wanted: tuple[float, ...] = ()


@dataclass(frozen=True)
class Stroke:
    """Evidence on the picture, frame index `frame`: a path of points (fractions of width and height).

    kind : 'is' what was seen (drawn full), 'should' what was wanted (drawn dashed), 'slip' a movement vector,
        'path' an arc, 'patch' a closed outline
    label : a few words with number and unit, or empty
    """

    frame: int
    kind: Literal["is", "should", "slip", "path", "patch"]
    points: tuple[tuple[float, float], ...]
    label: str = ""


@dataclass(frozen=True)
class PlanThing:
    """Something on a plan, at x, y metres. facing_deg : where a head or a lens points, counted from +x to +y; None where nothing tells it."""

    kind: Literal["head", "lens", "thing"]
    name: str
    x: float
    y: float
    facing_deg: float | None = None


@dataclass(frozen=True)
class PlanRay:
    """A look on a plan, from eyes at the first point. kind : 'is' as it is, 'should' as it should be"""

    kind: Literal["is", "should"]
    points: tuple[tuple[float, float], tuple[float, float]]
    label: str = ""


@dataclass(frozen=True)
class Plan:
    """Evidence seen from where no camera stands, frame index `frame`, in metres.

    view : 'above' x to screen right, y away from the lens; 'side' x along the wanted look, y up
    """

    frame: int
    view: Literal["above", "side"]
    things: tuple[PlanThing, ...]
    rays: tuple[PlanRay, ...]


@dataclass(frozen=True)
class Cause:
    """What a finding saw go wrong, so that another check's finding of the same is known to be the same (causes.py).

    what : 'height of the look', 'side of the look', 'sides of the screen', 'mouth' ...; who : whose, '' of a cut; span : frame indices
    """

    what: str
    who: str
    span: Span

    def is_of(self, other: Cause) -> bool:
        """Whether both are one cause: the same thing of the same person at the same time."""
        return (self.what, self.who) == (other.what, other.who) and self.span.overlap(other.span) is not None


@dataclass(frozen=True)
class Finding:
    """What a check proposes. Frames are indices from 0, both ends in.

    who : whom it is about; two people are written by `pair_of`

    value, unit, limit : the measured number, its unit (a signed value says what its sign means in unit or says), what it was held against
    says : one plain sentence in an animator's words on what is wrong; `suggest`: one on what to try ('try' in JSON)
    basis : where the limit comes from
    rests_on : what is taken for granted and was not measured, each to be read after 'if': 'both cameras tilt alike'. A finding that rests on anything is
        polish, is not surer than MOST_SURE_ASSUMED, and says so in its sentence, whatever the check wrote
    frames : where one cause shows on single frames within the span, each of them; empty where it shows on the whole span
    causes : what went wrong, for findings that other checks may come upon too
    """

    check: str
    kind: str
    who: str | None
    span: Span
    value: float
    unit: str
    limit: float
    weight: Weight
    confidence: float
    says: str
    suggest: str
    basis: str
    level: Level = 0
    curves: tuple[Curve, ...] = field(default=(), compare=False)
    strokes: tuple[Stroke, ...] = field(default=(), compare=False)
    plans: tuple[Plan, ...] = field(default=(), compare=False)
    rests_on: tuple[str, ...] = ()
    frames: tuple[int, ...] = ()
    causes: tuple[Cause, ...] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        if self.rests_on and self.weight == "must":
            object.__setattr__(self, "weight", "polish")
        object.__setattr__(self, "confidence", min(self.confidence, MOST_SURE_ASSUMED if self.rests_on else MOST_SURE))
        object.__setattr__(self, "says", _if(_sentence(self.says), self.rests_on))
        object.__setattr__(self, "suggest", _sentence(self.suggest))


def _sentence(words: str) -> str:
    """Written as people write: a capital first, a full stop last, whatever the check wrote."""
    words = words.strip()
    return words[:1].upper() + words[1:] + ("" if words.endswith((".", "?", "!")) or not words else ".")


def _if(sentence: str, rests_on: tuple[str, ...]) -> str:
    """The sentence with what it rests on, once."""
    condition = ", if " + " and ".join(rests_on) + "." if rests_on else ""
    return sentence if sentence.endswith(condition) else sentence.removesuffix(".") + condition


@dataclass(frozen=True)
class NotMeasured:
    """A check that could not run, for whom, and what it needs."""

    check: str
    who: str | None
    needs: str


@dataclass(frozen=True)
class Result:
    """What one check answers."""

    findings: tuple[Finding, ...] = ()
    not_measured: tuple[NotMeasured, ...] = ()
