"""What was asked on older takes, and what the reviewer says to it on a newer one: done, asked again, or not wanted any more. Nothing is settled by itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from shotcrit.crit.edits import Change, Edit, make, unmake, update
from shotcrit.crit.ids import new_id
from shotcrit.crit.notes import STEP, drop_note, in_order
from shotcrit.crit.records import Drawing, Note, Settled, Stroke, Take
from shotcrit.crit.view import NotHere, View, need
from shotcrit.errors import InputError

How = Literal["done", "again", "dropped"]
LABELS: dict[How | None, str] = {
    "done": "call a note done",
    "again": "ask a note again",
    "dropped": "let a note go",
    None: "open a note again",
}


@dataclass(frozen=True)
class There:
    """Where a note of an older take lies on the newer one. first, last : frame indices, both in; still : the frame that stands for it

    framed : a stroke of the old picture on the new one's framing
    """

    first: int
    last: int
    still: int
    framed: Callable[[Stroke], Stroke] = lambda stroke: stroke


def older_takes(view: View, take: Take) -> list[Take]:
    """Those of the shot that came before this one, the first one first."""
    return sorted((t for t in view.all(Take) if t.shot == take.shot and t.number < take.number), key=lambda t: t.number)


def asked_before(view: View, take: Take) -> tuple[Note, ...]:
    """Notes of older takes of the shot that were open when this one came: what to keep first, then take by take as they are read.

    Those that were settled on this take stay on the list, so that the reviewer sees what was said.
    """
    listed = [note for t in older_takes(view, take) for note in in_order(view, t.id)]
    open_here = [n for n in listed if (n.settled.on == take.id if n.settled else not n.closed)]
    return tuple(sorted(open_here, key=lambda note: note.weight != "keep"))


def asked_on(view: View, note: Note) -> tuple[int, ...]:
    """Numbers of the takes on which a note was asked, the first one first."""
    numbers: list[int] = []
    seen: set[str] = set()
    at: Note | None = note
    while at is not None and at.id not in seen:
        seen.add(at.id)
        numbers.insert(0, need(view, Take, at.take).number)
        at = view.get(Note, at.carried_from) if at.carried_from else None
    return tuple(numbers)


def settle(view: View, note_id: str, take_id: str, how: How | None, there: There | None) -> Edit:
    """Say what became of a note on a later take; None takes back what was said. What was said before gives way, with the note that asked again.

    there : where it lies on that take; needed to ask again. Raises NotHere or InputError, one sentence.
    """
    note, take = need(view, Note, note_id), need(view, Take, take_id)
    if note.id not in {asked.id for asked in asked_before(view, take)}:
        raise NotHere("this note is not open on this take; it was closed, or answered on another one")
    if how is not None and note.settled is not None and note.settled.how == how:
        return Edit(LABELS[how], ())
    back = _taken_back(view, note)
    if how is None:
        return Edit(LABELS[None], (*back, *update(note, {"settled": None, "closed": False})))
    if how != "again":
        said = Settled(on=take.id, how=how)
        return Edit(LABELS[how], (*back, *update(note, {"settled": said.model_dump(mode="json"), "closed": True})))
    if there is None:
        raise InputError(
            "the takes are not lined up yet, so nobody knows where this note lies on the new one; wait a moment, then press again"
        )
    drawings = [_copied(need(view, Drawing, name), take, there) for name in note.drawings if view.get(Drawing, name)]
    fresh = _asking_again(view, note, take, there, drawings)
    said = Settled(on=take.id, how="again", note=fresh.id)
    again = update(note, {"settled": said.model_dump(mode="json"), "closed": False})
    return Edit(LABELS["again"], (*back, *(make(d) for d in drawings), make(fresh), *again))


def _asking_again(view: View, note: Note, take: Take, there: There, drawings: Sequence[Drawing]) -> Note:
    """A thing that was praised and has gone is asked for; everything else is asked as it was."""
    lost = note.weight == "keep"
    return Note(
        id=new_id(),
        take=take.id,
        first=there.first,
        last=there.last,
        who=note.who,
        weight="polish" if lost else note.weight,
        what=f"Gone since take {need(view, Take, note.take).number}, where it was praised: {note.what}" if lost else note.what,
        why=note.why,
        suggest=note.suggest,
        drawings=tuple(d.id for d in drawings),
        still=there.still,
        place=max((n.place for n in in_order(view, take.id)), default=-STEP) + STEP,
        carried_from=note.id,
    )


def _copied(drawing: Drawing, take: Take, there: There) -> Drawing:
    """A drawing of the old take on the new one's frames and framing."""
    return Drawing(
        id=new_id(), take=take.id, first=there.first, last=there.last, strokes=tuple(there.framed(stroke) for stroke in drawing.strokes)
    )


def _taken_back(view: View, note: Note) -> tuple[Change, ...]:
    """The steps that take away the note which asked again, and its drawings that no other note shows."""
    again = view.get(Note, note.settled.note) if note.settled and note.settled.note else None
    if again is None:
        return ()
    shown = {name for other in view.all(Note, take=again.take) if other.id != again.id for name in other.drawings}
    drawn = [d for name in again.drawings if name not in shown and (d := view.get(Drawing, name))]
    return (*drop_note(view, again.id).changes, *(unmake(d) for d in drawn))
