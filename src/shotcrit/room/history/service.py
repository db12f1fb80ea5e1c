"""The whole crit at one moment, and every edit that made it so."""

from __future__ import annotations

from typing import Any, cast

from shotcrit.crit.records import Correction, Decision, Drawing, Marker, Note, Shot, Take
from shotcrit.room.edits import Edits, names
from shotcrit.room.history.shapes import CritState, History, HistoryEntry
from shotcrit.room.settings.stored import phrases_of, settings_of
from shotcrit.room.takes.media import MediaPlaces
from shotcrit.store.crit_file import CritFile


class CritHistory:
    def __init__(self, crit: CritFile, edits: Edits, media: MediaPlaces) -> None:
        self._crit = crit
        self._edits = edits
        self._media = media

    def state(self, who: str) -> CritState:
        """Everything stored, at one moment. who: whose edit undo would take back."""
        scope = self._crit.scope(who)
        with self._edits.view() as view:
            undo, redo = view.next_undo(scope), view.next_redo(scope)
            return CritState(
                name=self._crit.name,
                seq=view.seq(),
                undo=undo.label if undo else None,
                redo=redo.label if redo else None,
                shots=list(view.all(Shot)),
                takes=(takes := list(view.all(Take))),
                notes=sorted(view.all(Note), key=lambda n: (n.take, n.place, n.id)),
                drawings=list(view.all(Drawing)),
                decisions=list(view.all(Decision)),
                markers=list(view.all(Marker)),
                corrections=list(view.all(Correction)),
                phrases=phrases_of(view),
                settings=settings_of(view),
                media=[self._media.state(take) for take in takes],
            )

    def entries(self, before: int | None, limit: int) -> History:
        """The newest `limit` edits, or those before number `before`."""
        with self._edits.view() as view:
            rows = view.history(before, limit)
            touched = view.touched([row.seq for row in rows])
        entries = [
            HistoryEntry(seq=r.seq, when=r.at, who=r.who, what=cast(Any, r.what), of=r.of, label=r.label, changed=names(touched[r.seq]))
            for r in rows
        ]
        return History(entries=entries, older=rows[-1].seq if rows and rows[-1].seq > 1 else None)
