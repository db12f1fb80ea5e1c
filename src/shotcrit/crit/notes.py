"""Edits on notes and drawings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from shotcrit.crit.edits import Change, Edit, make, unmake, update
from shotcrit.crit.records import Drawing, Note, Stroke, Take
from shotcrit.crit.view import View, need
from shotcrit.errors import InputError

STEP = 1024.0
"""Distance between the places of notes put one after the other; halving it 50 times still tells them apart."""
TIGHT = 1e-6
"""Places closer than this are spread out anew."""


def in_order(view: View, take: str) -> tuple[Note, ...]:
    """The notes of a take as they will be read."""
    return tuple(sorted(view.all(Note, take=take), key=lambda n: (n.place, n.id)))


def write_note(view: View, note: Note, *, after: str | None = None, label: str = "write a note") -> Edit:
    """Add `note` behind the note `after`, or at the end. Raises NotHere or InputError when it does not fit the crit."""
    _check_note(view, note)
    notes = in_order(view, note.take)
    place, spread = _place_after(notes, after if after is not None or not notes else notes[-1].id)
    return Edit(label, (*spread, make(note.model_copy(update={"place": place}))))


def change_note(view: View, note_id: str, fields: Mapping[str, Any]) -> Edit:
    """Put JSON `fields` over a note."""
    note = need(view, Note, note_id)
    steps = update(note, fields)
    _check_note(view, note.model_validate({**note.model_dump(by_alias=True), **fields}))
    return Edit("change a note", steps)


def move_note(view: View, note_id: str, after: str | None) -> Edit:
    """Let a note follow the note `after`; None puts it on top."""
    note = need(view, Note, note_id)
    if after == note_id:
        return Edit("move a note", ())
    others = tuple(n for n in in_order(view, note.take) if n.id != note_id)
    place, spread = _place_after(others, after)
    return Edit("move a note", (*spread, *update(note, {"place": place})))


def drop_note(view: View, note_id: str) -> Edit:
    """Delete a note, and forget it where a take names it as the one thing that matters most. Its drawings stay on their frames."""
    note = need(view, Note, note_id)
    forget = [step for take in view.all(Take) if take.one_thing == note_id for step in update(take, {"one_thing": None})]
    return Edit("delete a note", (*forget, unmake(note)))


def draw(view: View, drawing: Drawing, *, note: str | None = None) -> Edit:
    """Add a drawing, and put it to a note when one is named."""
    check_frames(need(view, Take, drawing.take), drawing.first, drawing.last)
    return Edit("draw", (make(drawing), *_pinned(view, note, drawing.id)))


def add_strokes(view: View, drawing_id: str, strokes: tuple[Stroke, ...]) -> Edit:
    """Put strokes on top of a drawing, whatever was drawn meanwhile."""
    drawing = need(view, Drawing, drawing_id)
    both = [s.model_dump(mode="json") for s in (*drawing.strokes, *strokes)]
    return Edit("draw", update(drawing, {"strokes": both}))


def change_drawing(view: View, drawing_id: str, fields: Mapping[str, Any]) -> Edit:
    """Put JSON `fields` over a drawing."""
    drawing = need(view, Drawing, drawing_id)
    steps = update(drawing, fields)
    first, last = (steps[0].after or {} if steps else {}), drawing
    check_frames(need(view, Take, drawing.take), first.get("first", last.first), first.get("last", last.last))
    return Edit("change a drawing", steps)


def drop_drawing(view: View, drawing_id: str) -> Edit:
    """Delete a drawing, and take it off the notes that show it."""
    drawing = need(view, Drawing, drawing_id)
    off: list[Change] = []
    for note in view.all(Note, take=drawing.take):
        if drawing_id in note.drawings:
            off.extend(update(note, {"drawings": [d for d in note.drawings if d != drawing_id]}))
    return Edit("delete a drawing", (*off, unmake(drawing)))


def copy_along(drawing: Drawing, path: Mapping[int, tuple[float, float]], ids: Mapping[int, str]) -> Edit:
    """Copies of a drawing, one a frame of `path`, each moved by as much as the path moved since the drawing's own first frame.

    path : frame index -> x, y in fractions; ids : frame index -> id of the copy there; frames without an id get none
    Raises InputError when the path is not known at the drawing's first frame.
    """
    if drawing.first not in path:
        raise InputError("the mark is not known on the drawing's first frame; place or follow it there first")
    x0, y0 = path[drawing.first]
    copies = [_moved(drawing, ids[f], f, path[f][0] - x0, path[f][1] - y0) for f in sorted(path) if f in ids and f != drawing.first]
    return Edit("copy a drawing along a path", tuple(make(copy) for copy in copies))


def _moved(drawing: Drawing, new: str, frame: int, dx: float, dy: float) -> Drawing:
    strokes = tuple(
        s.model_copy(update={"points": tuple((held(x + dx), held(y + dy), p, t) for x, y, p, t in s.points)}) for s in drawing.strokes
    )
    return drawing.model_copy(update={"id": new, "version": 0, "first": frame, "last": frame, "strokes": strokes})


def held(value: float) -> float:
    """Within what a stored position may be."""
    return min(max(value, -4.0), 5.0)


def _pinned(view: View, note_id: str | None, drawing_id: str) -> tuple[Change, ...]:
    if note_id is None:
        return ()
    note = need(view, Note, note_id)
    return update(note, {"drawings": [*note.drawings, drawing_id]})


def _check_note(view: View, note: Note) -> None:
    take = need(view, Take, note.take)
    check_frames(take, note.first, note.last)
    if note.still is not None:
        check_frames(take, note.still, note.still)
    for drawing in note.drawings:
        need(view, Drawing, drawing)


def check_frames(take: Take, first: int, last: int) -> None:
    """Raise InputError, one sentence, for frames that are not in the take."""
    if last < first or last >= take.frames:
        shown = take.first_frame + take.frames - 1
        raise InputError(f"these frames are not in the take, which runs from {take.first_frame} to {shown}; choose frames inside it")


def _place_after(notes: tuple[Note, ...], after: str | None) -> tuple[float, tuple[Change, ...]]:
    """A place behind `after` (None: on top), and the changes that make room for it where there is none left."""
    index = 0 if after is None else 1 + next((i for i, n in enumerate(notes) if n.id == after), len(notes) - 1)
    low = notes[index - 1].place if index else (notes[0].place - 2 * STEP if notes else -STEP)
    high = notes[index].place if index < len(notes) else low + 2 * STEP
    if high - low > TIGHT:
        return (low + high) / 2, ()
    spread = [step for i, n in enumerate(notes) for step in update(n, {"place": STEP * (i + (i >= index))})]
    return STEP * index, tuple(spread)
