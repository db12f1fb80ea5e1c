"""Reading and editing the crit: the few calls through which everything that the room changes goes, and word of what others changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import Any, TypeVar, cast

from pydantic import BaseModel

from shotcrit.crit.edits import Edit, make, unmake, update
from shotcrit.crit.records import Record
from shotcrit.crit.view import need
from shotcrit.room.events.bus import Bus
from shotcrit.room.events.shapes import EditEvent, MovedEvent
from shotcrit.room.shapes import Done, RecordName
from shotcrit.store.commit import Bases, Saved
from shotcrit.store.crit_file import CritFile
from shotcrit.store.tables import ChangeRow
from shotcrit.store.views import SessionView, kind_name

T = TypeVar("T", bound=Record)
Act = Callable[[SessionView], Edit]
MOST_AT_ONCE = 500
"""Edits of another window told one by one; beyond, the page fetches the crit again anyway."""


class Edits:
    """Every edit of this room is stored by `store`, `undo` or `redo`; all else here is a shorter way to them."""

    def __init__(self, crit: CritFile, events: Bus) -> None:
        self._crit = crit
        self._events = events
        self._hear_changes: list[Callable[[Sequence[RecordName]], None]] = []
        self._hear_saved: list[Callable[[Saved], None]] = []
        with crit.view() as view:
            self._told = view.seq()

    def view(self) -> AbstractContextManager[SessionView]:
        """The crit at one moment, for as long as the block lasts."""
        return self._crit.view()

    def get(self, model: type[T], record_id: str) -> T:
        """Raises NotHere when there is none."""
        with self.view() as view:
            return need(view, model, record_id)

    # Editing

    def edited(self, model: type[T], record_id: str, who: str, act: Act, *, base: int | None = None) -> T:
        """Store an edit and answer with the record that it was about, as it is now. base: the version that the person saw."""
        self.store(who, act, _bases(model, record_id, base))
        return self.get(model, record_id)

    def patch(self, model: type[T], record_id: str, body: BaseModel, who: str, label: str) -> T:
        """Put the given fields over a record; `body` has the version that they start from."""
        fields, base = given(body), cast(int, getattr(body, "version"))  # noqa: B009 - every patch has it, BaseModel does not
        return self.edited(model, record_id, who, lambda view: Edit(label, update(need(view, model, record_id), fields)), base=base)

    def add(self, record: T, who: str, label: str) -> T:
        return self.edited(type(record), record.id, who, lambda _: Edit(label, (make(record),)))

    def delete(self, model: type[T], record_id: str, who: str, label: str, base: int | None) -> Done:
        return self.gone(model, record_id, who, lambda view: Edit(label, (unmake(need(view, model, record_id)),)), base)

    def gone(self, model: type[T], record_id: str, who: str, act: Act, base: int | None) -> Done:
        """Store an edit that takes a record away."""
        return done(self.store(who, act, _bases(model, record_id, base)))

    def store(self, who: str, act: Act, bases: Bases | None = None, *, undoable: bool = True) -> Saved:
        """Store an edit: `act` sees the crit as it is at that moment, and answers with what is to change."""
        return self._saved(self._crit.edit(who, act, bases, undoable=undoable))

    def undo(self, who: str) -> Done:
        return done(self._saved(self._crit.undo(who)))

    def redo(self, who: str) -> Done:
        return done(self._saved(self._crit.redo(who)))

    def _saved(self, saved: Saved) -> Saved:
        for hear in self._hear_saved:
            hear(saved)
        return saved

    # Telling

    def on_saved(self, hear: Callable[[Saved], None]) -> None:
        """`hear` is called with each edit of this room, once it is on disk."""
        self._hear_saved.append(hear)

    def on_change(self, hear: Callable[[Sequence[RecordName]], None]) -> None:
        """`hear` is called with what an edit touched, made here or in another window, before windows are told."""
        self._hear_changes.append(hear)

    def tell_from_now(self) -> None:
        """Begin to tell; called once, when all who want to hear have said so."""
        self._crit.watch(self._tell)
        self._crit.on_moved(lambda says: self._events.post(MovedEvent(name=self._crit.name, says=says)))

    def _tell(self, _last: int) -> None:
        with self.view() as view:
            rows = view.since(self._told, MOST_AT_ONCE)
            touched = view.touched([row.seq for row in rows])
            undo, redo = (row.label if row else None for row in (view.next_undo(None), view.next_redo(None)))
        for row in rows:
            self._told = row.seq
            changed = names(touched[row.seq])
            for hear in self._hear_changes:
                hear(changed)
            what = cast(Any, row.what)
            self._events.post(EditEvent(seq=row.seq, who=row.who, what=what, label=row.label, changed=changed, undo=undo, redo=redo))


def given(body: BaseModel) -> dict[str, Any]:
    """The fields that a request really gave, by their JSON names."""
    return body.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude={"version"})


def names(rows: Sequence[ChangeRow]) -> list[RecordName]:
    return [RecordName(kind=row.kind, id=row.record_id) for row in rows]


def done(saved: Saved) -> Done:
    """What an edit answers."""
    changed = [RecordName(kind=c.kind, id=c.id) for c in saved.changes if c.after is not None]
    gone = [RecordName(kind=c.kind, id=c.id) for c in saved.changes if c.after is None]
    return Done(seq=saved.seq, label=saved.label, changed=tuple(changed), gone=tuple(gone))


def _bases(model: type[Record], record_id: str, base: int | None) -> Bases:
    return {} if base is None else {(kind_name(model), record_id): base}
