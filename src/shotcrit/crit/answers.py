"""The small file that the animator sends back: what is done, and what was answered, note by note.

{"schema": "shotcrit.answers/1", "crit": id, "take": id, "who": "Ada", "when": "2026-03-01T10:00:00Z",
 "answers": [{"note": id, "done": true, "text": "opened the mouth over 213"}]}
"""

from __future__ import annotations

import json
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from shotcrit.crit.edits import Change, Edit, update
from shotcrit.crit.records import Id, Note, Shape, Short, Text
from shotcrit.crit.view import View, need
from shotcrit.errors import InputError

SCHEMA = "shotcrit.answers/1"
MOST_ANSWERS = 8 * 2**20
"""Bytes; an answer file above this was not made by a page of ours (guess: 500 notes with a page of text each)."""


class AnswerTo(Shape):
    note: Id
    done: bool
    text: Text = ""


class Answers(Shape):
    """The whole file. Names as in JSON."""

    answers_schema: Annotated[Literal["shotcrit.answers/1"], Field(alias="schema")]
    crit: Short
    take: Id
    who: Short = ""
    when: Short = ""
    answers: Annotated[tuple[AnswerTo, ...], Field(max_length=10_000)]


def parse_answers(data: bytes, *, name: str = "the answers") -> Answers:
    """Check what came back. Raises InputError, one sentence, for anything that is not a sound answer file."""
    if len(data) > MOST_ANSWERS:
        raise InputError(f"{name} are over {MOST_ANSWERS >> 20} MB, which no answers need; give the file that the page saved")
    try:
        read = json.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError) as problem:
        raise InputError(f"{name} are not JSON; give the file that the page saved") from problem
    try:
        return Answers.model_validate(read)
    except ValidationError as problem:
        first = problem.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the whole"
        raise InputError(f"{name} are not sound ({where}: {first['msg'].lower()}); give the file that the page saved") from problem


def answer_notes(view: View, crit_id: str, answers: Answers) -> tuple[Edit, tuple[str, ...], int]:
    """Put answers onto their notes. Returns the edit, the ids of notes answered, and how many answers have no note here.

    Raises InputError when the answers belong to another crit.
    """
    if answers.crit != crit_id:
        raise InputError("these answers belong to another crit; open that one, or choose another file")
    steps: list[Change] = []
    last = {given.note: given for given in answers.answers}
    known = tuple(name for name in last if view.get(Note, name) is not None)
    for name in known:
        answer = {"done": last[name].done, "text": last[name].text, "who": answers.who, "when": answers.when}
        steps.extend(update(need(view, Note, name), {"answer": answer}))
    return Edit("read answers", tuple(steps)), known, len(last) - len(known)
