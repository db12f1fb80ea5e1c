"""Notes: written, changed, put in order."""

from __future__ import annotations

from shotcrit.crit import notes as acts
from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Note, Take
from shotcrit.crit.view import need
from shotcrit.room.edits import Edits, given
from shotcrit.room.notes.shapes import Move, NewNote, NotePatch
from shotcrit.room.shapes import Done


class Notes:
    def __init__(self, edits: Edits) -> None:
        self._edits = edits

    def listed(self, take_id: str, find: str = "") -> list[Note]:
        """In the order they will be read; only those that hold every word of `find`."""
        with self._edits.view() as view:
            need(view, Take, take_id)
            return [note for note in acts.in_order(view, take_id) if _holds(note, find)]

    def write(self, take_id: str, body: NewNote, who: str) -> Note:
        fields = body.model_dump(by_alias=True, exclude={"after"})
        note = Note.model_validate({**fields, "id": new_id(), "take": take_id})
        return self._edits.edited(Note, note.id, who, lambda view: acts.write_note(view, note, after=body.after))

    def change(self, note_id: str, body: NotePatch, who: str) -> Note:
        fields = given(body)
        return self._edits.edited(Note, note_id, who, lambda view: acts.change_note(view, note_id, fields), base=body.version)

    def move(self, note_id: str, body: Move, who: str) -> list[Note]:
        """All notes of the take, in their new order."""
        note = self._edits.edited(Note, note_id, who, lambda view: acts.move_note(view, note_id, body.after), base=body.version)
        return self.listed(note.take)

    def delete(self, note_id: str, who: str, base: int | None) -> Done:
        return self._edits.gone(Note, note_id, who, lambda view: acts.drop_note(view, note_id), base)


def _holds(note: Note, find: str) -> bool:
    wanted = find.casefold().split()
    text = " ".join((note.what, note.why, note.suggest, note.who or "", note.weight)).casefold()
    return all(word in text for word in wanted)
