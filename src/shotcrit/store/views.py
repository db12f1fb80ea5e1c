"""A crit at one moment, read through one transaction."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar, cast

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from shotcrit.crit.edits import from_body
from shotcrit.crit.records import KINDS, Kind, Record
from shotcrit.store.tables import ROWS, ChangeRow, HistoryRow, RecordRow, TrailRow

T = TypeVar("T", bound=Record)


def kind_name(model: type[Record]) -> Kind:
    """The stored name of a class of records."""
    return cast(Kind, next(kind for kind, known in KINDS.items() if known is model))


def record_of(kind: Kind, row: RecordRow) -> Record:
    return from_body(kind, row.id, row.version, row.body)


class SessionView:
    """The View that pure functions take, and what the room reads besides."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def get(self, model: type[T], record_id: str) -> T | None:
        kind = kind_name(model)
        row = self.session.get(ROWS[kind], record_id)
        return None if row is None else cast(T, record_of(kind, row))

    def all(self, model: type[T], *, take: str | None = None) -> tuple[T, ...]:
        kind = kind_name(model)
        table = ROWS[kind]
        asked = select(table.id, table.version, table.body).order_by(table.born, table.id)
        if take is not None and (column := getattr(table, "take_id", None)) is not None:
            asked = asked.where(column == take)
        return tuple(cast(T, from_body(kind, *row)) for row in self.session.execute(asked))

    def seq(self) -> int:
        """Number of the last edit; 0 in a new crit."""
        return last_seq(self.session)

    def history(self, before: int | None, limit: int) -> Sequence[HistoryRow]:
        """Newest first."""
        asked = select(HistoryRow).order_by(HistoryRow.seq.desc()).limit(limit)
        return self.session.scalars(asked if before is None else asked.where(HistoryRow.seq < before)).all()

    def since(self, seq: int, limit: int) -> Sequence[HistoryRow]:
        """Edits after number `seq`, oldest first."""
        return self.session.scalars(select(HistoryRow).where(HistoryRow.seq > seq).order_by(HistoryRow.seq).limit(limit)).all()

    def touched(self, seqs: Sequence[int]) -> dict[int, list[ChangeRow]]:
        """The changes of some edits."""
        found: dict[int, list[ChangeRow]] = {seq: [] for seq in seqs}
        for row in self.session.scalars(select(ChangeRow).where(ChangeRow.seq.in_(seqs)).order_by(ChangeRow.seq, ChangeRow.n)):
            found[row.seq].append(row)
        return found

    def next_undo(self, who: str | None) -> HistoryRow | None:
        """The edit that undo would take back; of one person, or of anybody (None)."""
        return _history_row(self.session, next_on_trail(self.session, who, undone=False))

    def next_redo(self, who: str | None) -> HistoryRow | None:
        """The edit that redo would bring back."""
        return _history_row(self.session, next_on_trail(self.session, who, undone=True))


def last_seq(session: Session) -> int:
    return session.scalar(select(func.max(HistoryRow.seq))) or 0


def next_on_trail(session: Session, who: str | None, *, undone: bool) -> TrailRow | None:
    """The newest edit that can be undone, or the oldest that was undone and can be redone."""
    asked = select(TrailRow).where(TrailRow.undone == undone)
    if who is not None:
        asked = asked.where(TrailRow.who == who)
    return session.scalars(asked.order_by(TrailRow.seq if undone else TrailRow.seq.desc()).limit(1)).first()


def _history_row(session: Session, trail: TrailRow | None) -> HistoryRow | None:
    return None if trail is None else session.get(HistoryRow, trail.seq)
