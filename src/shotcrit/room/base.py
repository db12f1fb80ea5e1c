"""The room's footing: the open crit, the desk, events, jobs, and the few calls through which every edit goes."""

from __future__ import annotations

import getpass
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar, cast

from pydantic import BaseModel

from shotcrit.crit.edits import Edit, make, unmake, update
from shotcrit.crit.things import Take, Thing
from shotcrit.crit.view import need
from shotcrit.room.bus import Bus
from shotcrit.room.jobs import Jobs
from shotcrit.room.memory import Memory
from shotcrit.room.port import Desk
from shotcrit.room.settings import habits_of, settings_of
from shotcrit.room.shapes.common import Done, Job, ThingName
from shotcrit.room.shapes.events import EditEvent, JobEvent
from shotcrit.room.shapes.review import Settings
from shotcrit.store.commit import Bases, Saved
from shotcrit.store.crit_file import CritFile
from shotcrit.store.person import write_habits
from shotcrit.store.tables import ChangeRow
from shotcrit.store.views import SessionView, kind_name

T = TypeVar("T", bound=Thing)
MOST_AT_ONCE = 500
"""Edits of another window told one by one; beyond, the page fetches the crit again anyway."""


class Base:
    """What every part of the room stands on. habits: where the person's own settings are kept, None for nowhere."""

    def __init__(
        self, crit: CritFile, desk: Desk, *, habits: Path | None = None, roots: Sequence[Path] = (), folders_free: bool = True
    ) -> None:
        self.crit = crit
        self.desk = desk
        self.habits = habits
        self.events = Bus()
        self.jobs = Jobs(self._tell_job)
        self.roots = tuple(root.resolve() for root in roots)
        self.folders_free = folders_free
        self._told = 0
        self.memory = Memory()
        self._memory = threading.RLock()
        with crit.view() as view:
            self._told = view.seq()
        crit.watch(self._tell_edits)

    def close(self) -> None:
        """Stop the jobs, then close the crit."""
        self.jobs.close()
        self.crit.close()

    # Reading

    def settings(self) -> Settings:
        with self.crit.view() as view:
            return settings_of(view)

    def reviewer(self) -> str:
        """The name put to edits that carry none."""
        return self.settings().reviewer or login_name()

    def take(self, take_id: str) -> Take:
        """Raises NotHere when there is none."""
        with self.crit.view() as view:
            return need(view, Take, take_id)

    # Editing

    def fields(self, body: BaseModel) -> dict[str, Any]:
        """The fields that a request really gave, by their JSON names."""
        return body.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude={"version"})

    def edited(self, model: type[T], thing_id: str, who: str, act: Callable[[SessionView], Edit], *, base: int | None = None) -> T:
        """Store an edit and answer with the thing that it was about, as it is now."""
        self.store(who, act, {} if base is None else {(kind_name(model), thing_id): base})
        with self.crit.view() as view:
            return need(view, model, thing_id)

    def patch(self, model: type[T], thing_id: str, body: BaseModel, who: str, label: str) -> T:
        """Put the given fields over a thing; `body` has the version that they start from."""
        fields, base = self.fields(body), cast(int, getattr(body, "version"))  # noqa: B009 - every patch has it, BaseModel does not
        return self.edited(model, thing_id, who, lambda view: Edit(label, update(need(view, model, thing_id), fields)), base=base)

    def add(self, thing: T, who: str, label: str) -> T:
        return self.edited(type(thing), thing.id, who, lambda _: Edit(label, (make(thing),)))

    def delete(self, model: type[T], thing_id: str, who: str, label: str, base: int | None) -> Done:
        return self.gone(model, thing_id, who, lambda view: Edit(label, (unmake(need(view, model, thing_id)),)), base)

    def gone(self, model: type[T], thing_id: str, who: str, act: Callable[[SessionView], Edit], base: int | None) -> Done:
        """Store an edit that takes a thing away."""
        return done(self.store(who, act, {} if base is None else {(kind_name(model), thing_id): base}))

    def store(self, who: str, act: Callable[[SessionView], Edit], bases: Bases | None = None, *, undoable: bool = True) -> Saved:
        """Store an edit. Everything that this room changes comes through here, or through undo and redo."""
        return self._after(self.crit.edit(who, act, bases, undoable=undoable))

    def undo(self, who: str) -> Done:
        return done(self._after(self.crit.undo(who)))

    def redo(self, who: str) -> Done:
        return done(self._after(self.crit.redo(who)))

    def _after(self, saved: Saved) -> Saved:
        if self.habits is not None and any(c.kind in ("phrase", "setting") for c in saved.changes):
            with self.crit.view() as view:
                habits = habits_of(view)
            write_habits(self.habits, habits)
        return saved

    # Telling

    def forget(self, changed: Sequence[ThingName]) -> None:
        """Called with what an edit changed, here or in another window, before windows are told. Parts that remember things override it."""

    def _tell_job(self, job: Job) -> None:
        self.events.post(JobEvent(job=job))

    def _tell_edits(self, _last: int) -> None:
        with self.crit.view() as view:
            rows = view.since(self._told, MOST_AT_ONCE)
            touched = view.touched([row.seq for row in rows])
            undo, redo = (row.label if row else None for row in (view.next_undo(None), view.next_redo(None)))
        for row in rows:
            self._told = row.seq
            changed = names(touched[row.seq])
            self.forget(changed)
            what = cast(Any, row.what)
            self.events.post(EditEvent(seq=row.seq, who=row.who, what=what, label=row.label, changed=changed, undo=undo, redo=redo))


def names(rows: Sequence[ChangeRow]) -> list[ThingName]:
    return [ThingName(kind=row.kind, id=row.thing_id) for row in rows]


def done(saved: Saved) -> Done:
    """What an edit answers."""
    changed = [ThingName(kind=c.kind, id=c.id) for c in saved.changes if c.after is not None]
    gone = [ThingName(kind=c.kind, id=c.id) for c in saved.changes if c.after is None]
    return Done(seq=saved.seq, label=saved.label, changed=tuple(changed), gone=tuple(gone))


def login_name() -> str:
    """Who is at the keyboard, as the system knows; 'reviewer' where it does not."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "reviewer"
