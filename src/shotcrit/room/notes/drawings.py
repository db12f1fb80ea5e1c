"""Drawings over the picture."""

from __future__ import annotations

from shotcrit.crit import notes as acts
from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Drawing, Take
from shotcrit.crit.view import NotHere, need
from shotcrit.room.edits import Edits, given
from shotcrit.room.measured.service import Measurements
from shotcrit.room.notes.shapes import AlongMark, DrawingPatch, NewDrawing, NewStrokes
from shotcrit.room.shapes import Done
from shotcrit.room.sheet.build import mark_path


class Drawings:
    def __init__(self, edits: Edits, measurements: Measurements) -> None:
        self._edits = edits
        self._measurements = measurements

    def listed(self, take_id: str) -> list[Drawing]:
        with self._edits.view() as view:
            need(view, Take, take_id)
            return list(view.all(Drawing, take=take_id))

    def draw(self, take_id: str, body: NewDrawing, who: str) -> Drawing:
        drawing = Drawing(id=new_id(), take=take_id, first=body.first, last=body.last, strokes=tuple(body.strokes))
        return self._edits.edited(Drawing, drawing.id, who, lambda view: acts.draw(view, drawing, note=body.note))

    def change(self, drawing_id: str, body: DrawingPatch, who: str) -> Drawing:
        fields = given(body)
        return self._edits.edited(Drawing, drawing_id, who, lambda view: acts.change_drawing(view, drawing_id, fields), base=body.version)

    def add_strokes(self, drawing_id: str, body: NewStrokes, who: str) -> Drawing:
        """On top; never clashes."""
        return self._edits.edited(Drawing, drawing_id, who, lambda view: acts.add_strokes(view, drawing_id, tuple(body.strokes)))

    def copy_along(self, drawing_id: str, body: AlongMark, who: str) -> list[Drawing]:
        """Copies on further frames, moved with a mark that was followed. Raises NotHere before the take is measured."""
        with self._edits.view() as view:
            drawing = need(view, Drawing, drawing_id)
            take = need(view, Take, drawing.take)
        measured = self._measurements.measured(take)
        if measured is None:
            raise NotHere("the take is not measured yet, so its marks are not followed; measure it first")
        path = mark_path(measured.readings, body.who, body.mark, min(body.first, drawing.first), max(body.last, drawing.first))
        ids = {frame: new_id() for frame in path if body.first <= frame <= body.last}
        self._edits.store(who, lambda view: acts.copy_along(need(view, Drawing, drawing_id), path, ids))
        made = set(ids.values())
        return [d for d in self.listed(drawing.take) if d.id in made]

    def delete(self, drawing_id: str, who: str, base: int | None) -> Done:
        return self._edits.gone(Drawing, drawing_id, who, lambda view: acts.drop_drawing(view, drawing_id), base)
