"""Putting an edit into the tables, within the writer's transaction: check, apply, and write down how to take it back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from shotcrit.crit.edits import Change, Clash, Edit, applied, inverse
from shotcrit.crit.records import Kind
from shotcrit.crit.view import NotHere
from shotcrit.store.tables import DRAWN, ROWS, ChangeRow, HistoryRow, RecordRow, TrailRow
from shotcrit.store.views import SessionView, last_seq, next_on_trail, record_of

MOST_EDITS = 2**53 - 1
"""Edits are numbered within what JSON numbers hold exactly."""
Bases = Mapping[tuple[Kind, str], int]
"""(kind, id) -> the version that the person saw."""
Act = Callable[[SessionView], Edit]


@dataclass(frozen=True)
class Saved:
    """An edit on disk. seq: its number, or the last one's when it changed nothing."""

    seq: int
    label: str
    changes: tuple[Change, ...]


def commit(session: Session, who: str, act: Act, bases: Bases, *, scope: str | None = None, undoable: bool = True) -> Saved:
    """Run `act` on the crit as it is now, and store what it answers.

    bases : versions that the person saw; a change to fields that were changed since raises Clash, to other fields goes on top
    scope : whose redo this edit ends; None for everybody's
    """
    for (kind, record_id), base in bases.items():
        _refuse_gone(session, kind, record_id, base)
    edit = act(SessionView(session))
    if not edit.changes:
        return Saved(last_seq(session), edit.label, ())
    for step in edit.changes:
        seen = bases.get((step.kind, step.id))
        if seen is not None:
            _refuse_clash(session, step, seen)
    seq = _store(session, who, edit, "edit", None)
    if undoable:
        _extend_trail(session, who, seq, scope)
    return Saved(seq, edit.label, edit.changes)


def undo(session: Session, who: str, scope: str | None) -> Saved:
    """Take back the newest edit on the trail. scope: whose; None for anybody's. Raises NotHere when none, Clash when built upon."""
    return _along_trail(session, who, scope, undone=False)


def redo(session: Session, who: str, scope: str | None) -> Saved:
    """Bring back the edit that was undone last. Raises NotHere when there is none, Clash when it no longer fits."""
    return _along_trail(session, who, scope, undone=True)


def _along_trail(session: Session, who: str, scope: str | None, *, undone: bool) -> Saved:
    trail = next_on_trail(session, scope, undone=undone)
    if trail is None:
        raise NotHere("there is nothing to bring back" if undone else "there is nothing to take back")
    edit = _edit_of(session, trail.seq)
    step = edit if undone else inverse(edit)
    seq = _store(session, who, step, "redo" if undone else "undo", trail.seq)
    trail.undone = not undone
    return Saved(seq, edit.label, step.changes)


def _edit_of(session: Session, seq: int) -> Edit:
    label = session.get_one(HistoryRow, seq).label
    rows = session.scalars(select(ChangeRow).where(ChangeRow.seq == seq).order_by(ChangeRow.n))
    return Edit(label, tuple(Change(_kind(r.kind), r.record_id, r.before, r.after) for r in rows))


def _kind(name: str) -> Kind:
    return next(kind for kind in ROWS if kind == name)


def _store(session: Session, who: str, edit: Edit, what: str, of: int | None) -> int:
    seq = last_seq(session) + 1
    at = datetime.now(UTC).isoformat(timespec="milliseconds")
    session.add(HistoryRow(seq=seq, at=at, who=who, what=what, of=of, label=edit.label))
    session.flush()
    for n, step in enumerate(edit.changes):
        _put(session, step, seq)
        session.add(ChangeRow(seq=seq, n=n, kind=step.kind, record_id=step.id, before=step.before, after=step.after))
    session.flush()
    return seq


def _put(session: Session, step: Change, seq: int) -> None:
    table = ROWS[step.kind]
    row = session.get(table, step.id)
    try:
        body = applied(None if row is None else row.body, step)
    except ValueError as problem:
        raise Clash(step.kind, step.id, None if row is None else record_of(step.kind, row)) from problem
    if body is None:
        session.delete(row)
        session.flush()
        return
    if row is None:
        row = table(id=step.id, born=seq)
        session.add(row)
    row.version, row.body = seq, body
    _draw_out(step.kind, row)


def _draw_out(kind: Kind, row: RecordRow) -> None:
    for column, name in DRAWN[kind].items():
        setattr(row, column, row.body[name])


def _extend_trail(session: Session, who: str, seq: int, scope: str | None) -> None:
    """A new edit ends what could be redone within its scope."""
    stale = delete(TrailRow).where(TrailRow.undone)
    session.execute(stale if scope is None else stale.where(TrailRow.who == scope))
    session.add(TrailRow(seq=seq, who=who, undone=False))


def _refuse_gone(session: Session, kind: Kind, record_id: str, base: int) -> None:
    """A record that was there at `base` and is gone: somebody deleted it meanwhile."""
    if session.get(ROWS[kind], record_id) is None:
        known = select(ChangeRow.seq).where(ChangeRow.kind == kind, ChangeRow.record_id == record_id).limit(1)
        if session.scalar(known) is not None:
            raise Clash(kind, record_id, None)


def _refuse_clash(session: Session, step: Change, base: int) -> None:
    row = session.get(ROWS[step.kind], step.id)
    if row is None or row.version == base:
        return
    since = select(ChangeRow).where(ChangeRow.kind == step.kind, ChangeRow.record_id == step.id, ChangeRow.seq > base)
    touched: set[str] = set()
    for r in session.scalars(since):
        touched |= Change(step.kind, step.id, r.before, r.after).touches
    if base > row.version or not step.is_update or touched & step.touches:
        raise Clash(step.kind, step.id, record_of(step.kind, row))
