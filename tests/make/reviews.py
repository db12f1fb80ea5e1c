"""Things of a crit with known content: shot 'Lantern 040', its takes, notes and findings; and a crit held in memory."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from shotcrit.checks.finding import Finding
from shotcrit.clock import Span
from shotcrit.crit.edits import Edit, applied, from_body, make, to_body
from shotcrit.crit.records import KINDS, Note, Record, Shot, Take

T = TypeVar("T", bound=Record)
FRAMES = 264
SHOT = Shot(id="shot1", name="Lantern 040")


def take(take_id: str = "take1", *, frames: int = FRAMES, **more: Any) -> Take:
    """A take of 'Lantern 040' at 24 frames a second, shown from 1001; its movie is nowhere."""
    facts = {"path": "/nowhere/lantern_040.mov", "sha256": "ab" * 32, "rate": "24/1", "duration_s": frames / 24, "first_frame": 1001}
    return Take.model_validate({"id": take_id, "shot": SHOT.id, "frames": frames, **facts, **more})


def note(note_id: str, first: int = 10, last: int = 12, **more: Any) -> Note:
    """A note on take1."""
    return Note.model_validate({"id": note_id, "take": "take1", "first": first, "last": last, "what": "She looks over his head.", **more})


def finding(first: int = 257, last: int = 263, value: float = 7, **more: Any) -> Finding:
    """The dead tail of the shot: seven frames that repeat."""
    facts: dict[str, Any] = {
        "check": "hold",
        "kind": "tail",
        "who": None,
        "unit": "frames",
        "limit": 1,
        "weight": "must",
        "confidence": 1.0,
    }
    words = {
        "says": "The last seven frames repeat.",
        "suggest": "Keep her settling through to the cut.",
        "basis": "common practice, no source",
    }
    return Finding(**{**facts, **words, "value": value, "span": Span(first, last + 1), **more})


def beginning() -> Edit:
    """The edit that puts shot and take into an empty crit."""
    return Edit("start", (make(SHOT), make(take())))


class Desktop:
    """A View held in memory; `do` applies an edit as the store would. Pure functions are tested on it without a database."""

    def __init__(self, things: Sequence[Record] = (SHOT, take())) -> None:
        self.things: dict[tuple[type[Record], str], Record] = {(type(t), t.id): t for t in things}

    def get(self, model: type[T], record_id: str) -> T | None:
        return self.things.get((model, record_id))  # type: ignore[return-value]

    def all(self, model: type[T], *, take: str | None = None) -> tuple[T, ...]:
        found = [t for (kind, _), t in self.things.items() if kind is model]
        return tuple(t for t in found if take is None or getattr(t, "take", take) == take)  # type: ignore[misc]

    def do(self, edit: Edit) -> None:
        for step in edit.changes:
            model = KINDS[step.kind]
            old = self.things.get((model, step.id))
            body = applied(None if old is None else to_body(old), step)
            if body is None:
                del self.things[(model, step.id)]
            else:
                self.things[(model, step.id)] = from_body(step.kind, step.id, 1, body)
