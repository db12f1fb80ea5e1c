"""Answers of animators, read back into the crit."""

from __future__ import annotations

from shotcrit.counted import counted
from shotcrit.crit.answers import answer_notes, parse_answers
from shotcrit.crit.edits import Edit
from shotcrit.crit.records import Note
from shotcrit.crit.view import View, need
from shotcrit.room.edits import Edits
from shotcrit.room.sending.shapes import AnswersRead
from shotcrit.store.crit_file import CritFile


class Answers:
    def __init__(self, crit: CritFile, edits: Edits) -> None:
        self._crit = crit
        self._edits = edits

    def read(self, data: bytes, who: str) -> AnswersRead:
        """Put what the animator's page saved to its notes. Raises InputError for what is no such file, or another crit's."""
        answers, crit_id = parse_answers(data), self._crit.crit_id()
        told: list[tuple[tuple[str, ...], int]] = []

        def act(view: View) -> Edit:
            edit, known, unknown = answer_notes(view, crit_id, answers)
            told[:] = [(known, unknown)]
            return edit

        self._edits.store(who, act)
        known, unknown = told[0]
        with self._edits.view() as view:
            notes = [need(view, Note, name) for name in known]
        ticked = sum(1 for note in notes if note.answer and note.answer.done)
        return AnswersRead(notes=notes, unknown=unknown, says=f"{counted(len(notes), 'note')} answered, {ticked} of them ticked as done")
