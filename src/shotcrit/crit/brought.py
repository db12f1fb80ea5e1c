"""One edit that puts the notes and drawings of a file into a take, so that one undo takes them out again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shotcrit.crit.edits import Edit, make
from shotcrit.crit.notes import STEP, check_frames, in_order
from shotcrit.crit.records import Drawing, Note, Take
from shotcrit.crit.view import View, need

LABEL = "bring in notes"


@dataclass(frozen=True)
class Arrived:
    """What the edit adds, and how many notes stood there already."""

    edit: Edit
    notes: int
    drawings: int
    known: int


def bring_in(view: View, take_id: str, notes: Sequence[Note], drawings: Sequence[Drawing]) -> Arrived:
    """Put `notes` behind those of the take, in their order. A note that stands there word for word, on the same frames, is not put twice, nor its drawings.

    notes : with fresh ids, their drawings among `drawings`, which may also hold some that no note names
    Raises NotHere or InputError when they do not fit the take.
    """
    take = need(view, Take, take_id)
    for first, last in [(note.first, note.last) for note in notes] + [(drawing.first, drawing.last) for drawing in drawings]:
        check_frames(take, first, last)
    there = in_order(view, take_id)
    said = {_said(note) for note in there}
    fresh = [note for note in notes if _said(note) not in said]
    passed = {name for note in notes if _said(note) in said for name in note.drawings}
    drawn = [drawing for drawing in drawings if drawing.id not in passed]
    start = there[-1].place if there else 0.0
    placed = [note.model_copy(update={"place": start + STEP * number}) for number, note in enumerate(fresh, start=1)]
    return Arrived(Edit(LABEL, tuple(make(thing) for thing in (*drawn, *placed))), len(placed), len(drawn), len(notes) - len(fresh))


def _said(note: Note) -> tuple[object, ...]:
    return note.first, note.last, note.who, note.weight, note.what, note.why, note.suggest
