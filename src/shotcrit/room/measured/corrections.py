"""Words, phones, breaths and cuts corrected by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import ValidationError

from shotcrit.crit.edits import Change, Edit, make, unmake, update
from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Correction, Take
from shotcrit.crit.view import View, need
from shotcrit.errors import InputError
from shotcrit.readings.sound.phoneset import PHONES
from shotcrit.room.edits import Edits
from shotcrit.room.measured.shapes import CorrectionPart, NewCorrection
from shotcrit.room.shapes import Done


class Corrections:
    def __init__(self, edits: Edits) -> None:
        self._edits = edits

    def listed(self, take_id: str) -> list[Correction]:
        with self._edits.view() as view:
            need(view, Take, take_id)
            return list(view.all(Correction, take=take_id))

    def put(self, take_id: str, body: NewCorrection, who: str) -> list[Correction]:
        """Store corrections; one call is one edit."""
        ids = [part.replaces or new_id() for part in body.changes]

        def act(view: View) -> Edit:
            need(view, Take, take_id)
            return Edit("correct by hand", tuple(_steps(view, take_id, list(zip(ids, body.changes, strict=True)))))

        self._edits.store(who, act)
        return [c for c in self.listed(take_id) if c.id in set(ids)]

    def delete(self, correction_id: str, who: str, base: int | None) -> Done:
        return self._edits.delete(Correction, correction_id, who, "take a correction back", base)


def _steps(view: View, take_id: str, parts: Sequence[tuple[str, CorrectionPart]]) -> Iterator[Change]:
    for name, part in parts:
        if part.replaces is None:
            fields = part.model_dump(exclude={"replaces"})
            yield make(_sound({**fields, "id": name, "take": take_id}))
            continue
        old = need(view, Correction, part.replaces)
        if old.was is None and part.now is None:
            yield unmake(old)
        else:
            _sound({**old.model_dump(mode="json"), "now": part.now})
            yield from update(old, {"now": part.now})


def _sound(fields: dict[str, Any]) -> Correction:
    """The correction, if it is one. Raises InputError."""
    phone = (fields.get("now") or {}).get("phone")
    if phone is not None and phone not in PHONES:
        raise InputError(f"'{str(phone)[:20]}' is no phone; use one of {', '.join(PHONES)}")
    try:
        return Correction.model_validate(fields)
    except ValidationError as problem:
        said = problem.errors()[0]["msg"].lower()
        raise InputError(f"this correction is not right ({said}); correct it again") from problem
