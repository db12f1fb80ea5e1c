"""First-look markers: it bothered me here."""

from __future__ import annotations

from shotcrit.crit.edits import Edit, make
from shotcrit.crit.ids import new_id
from shotcrit.crit.reaction import drawn_back
from shotcrit.crit.records import Marker, Take
from shotcrit.room.edits import Edits
from shotcrit.room.frames.service import Frames
from shotcrit.room.judging.service import Judging
from shotcrit.room.notes.shapes import MarkedFindings, MarkerPatch, NewMarker
from shotcrit.room.settings.stored import settings_of
from shotcrit.room.shapes import Done
from shotcrit.store.views import SessionView


class Markers:
    def __init__(self, edits: Edits, frames: Frames, judging: Judging) -> None:
        self._edits = edits
        self._frames = frames
        self._judging = judging

    def listed(self, take_id: str) -> list[MarkedFindings]:
        """Each with the findings that lie under it."""
        judged = self._judging.judgement(take_id)
        under = self._judging.under_markers(judged)
        return [MarkedFindings(marker=m, findings=list(under[m.id])) for m in sorted(judged.markers, key=lambda m: m.frame)]

    def drop(self, take_id: str, body: NewMarker, who: str) -> Marker:
        """Drawn back by the reviewer's reaction time."""
        clock, marker_id = self._frames.clock(self._edits.get(Take, take_id)), new_id()

        def act(view: SessionView) -> Edit:
            pressed = min(body.pressed, len(clock) - 1)
            frame = drawn_back(pressed, clock, settings_of(view).reaction_ms)
            return Edit("put a cross", (make(Marker(id=marker_id, take=take_id, pressed=pressed, frame=frame, text=body.text)),))

        return self._edits.edited(Marker, marker_id, who, act)

    def change(self, marker_id: str, body: MarkerPatch, who: str) -> Marker:
        return self._edits.patch(Marker, marker_id, body, who, "change a marker")

    def delete(self, marker_id: str, who: str, base: int | None) -> Done:
        return self._edits.delete(Marker, marker_id, who, "delete a marker", base)
