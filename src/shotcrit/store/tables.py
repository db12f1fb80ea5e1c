"""The tables of a crit, as SQLAlchemy models that SQLite and PostgreSQL both take.

A record's fields live in `body` as JSON, as the API gives them; columns are drawn out of it where tables join or are searched.
`version` is the number of the edit that last changed the record, `born` of the one that made it.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, BigInteger, Boolean, Float, ForeignKey, Index, Integer, MetaData, String, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

from shotcrit.crit.records import Kind

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
"""Every constraint has a name of its own, so that a later migration can drop it on either database."""
ID = 64
"""Characters of an id."""


class Base(DeclarativeBase):
    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {dict[str, Any]: JSON(none_as_null=True)}  # noqa: RUF012 - SQLAlchemy's own way


class RecordRow(Base):
    """What every table of records has."""

    __abstract__ = True
    id: Mapped[str] = mapped_column(String(ID), primary_key=True)
    version: Mapped[int] = mapped_column(BigInteger)
    born: Mapped[int] = mapped_column(BigInteger)
    body: Mapped[dict[str, Any]]


class _OfTake:
    # Deferred to the commit: undo brings things back in any order.
    @declared_attr
    def take_id(cls) -> Mapped[str]:  # noqa: N805 - SQLAlchemy hands the class in
        return mapped_column(ForeignKey("takes.id", deferrable=True, initially="DEFERRED"), index=True)


class _OfShot:
    @declared_attr
    def shot_id(cls) -> Mapped[str]:  # noqa: N805
        return mapped_column(ForeignKey("shots.id", deferrable=True, initially="DEFERRED"), index=True)


class ShotRow(RecordRow):
    __tablename__ = "shots"
    name: Mapped[str] = mapped_column(String(200))
    sequence: Mapped[str] = mapped_column(String(200), index=True, server_default="")


class TakeRow(_OfShot, RecordRow):
    __tablename__ = "takes"
    sha256: Mapped[str] = mapped_column(String(64), index=True)


class NoteRow(_OfTake, RecordRow):
    __tablename__ = "notes"
    weight: Mapped[str] = mapped_column(String(10))
    closed: Mapped[bool] = mapped_column(Boolean)
    place: Mapped[float] = mapped_column(Float)


class DrawingRow(_OfTake, RecordRow):
    __tablename__ = "drawings"


class DecisionRow(_OfShot, RecordRow):
    __tablename__ = "decisions"
    verdict: Mapped[str] = mapped_column(String(10))


class MarkerRow(_OfTake, RecordRow):
    __tablename__ = "markers"


class CorrectionRow(_OfTake, RecordRow):
    __tablename__ = "corrections"


class PhraseRow(RecordRow):
    __tablename__ = "phrases"


class SettingRow(RecordRow):
    __tablename__ = "settings"


class HistoryRow(Base):
    """One edit; rows are only ever added. what: edit, undo or redo; of: the edit that was undone or redone."""

    __tablename__ = "history"
    seq: Mapped[int] = mapped_column(BigInteger, primary_key=True, autoincrement=False)
    at: Mapped[str] = mapped_column(String(40))
    who: Mapped[str] = mapped_column(String(200))
    what: Mapped[str] = mapped_column(String(10))
    of: Mapped[int | None] = mapped_column(BigInteger)
    label: Mapped[str] = mapped_column(String(200))


class ChangeRow(Base):
    """One change of an edit, with its inverse: before and after, as in crit.edits.Change."""

    __tablename__ = "changes"
    __table_args__ = (Index("ix_changes_thing", "kind", "thing_id", "seq"),)
    seq: Mapped[int] = mapped_column(ForeignKey("history.seq"), primary_key=True, autoincrement=False)
    n: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    kind: Mapped[str] = mapped_column(String(20))
    record_id: Mapped[str] = mapped_column("thing_id", String(ID))
    before: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    after: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))


class TrailRow(Base):
    """Where undo and redo stand: one row for each edit that can be undone, or was and can be redone."""

    __tablename__ = "trail"
    seq: Mapped[int] = mapped_column(ForeignKey("history.seq"), primary_key=True, autoincrement=False)
    who: Mapped[str] = mapped_column(String(200))
    undone: Mapped[bool] = mapped_column(Boolean)


class AboutRow(Base):
    """Facts about the crit itself, by name: its id, and the version of Shotcrit that made it."""

    __tablename__ = "about"
    name: Mapped[str] = mapped_column(String(50), primary_key=True)
    value: Mapped[str] = mapped_column(Text)


ROWS: dict[Kind, type[RecordRow]] = {
    "shot": ShotRow,
    "take": TakeRow,
    "note": NoteRow,
    "drawing": DrawingRow,
    "decision": DecisionRow,
    "marker": MarkerRow,
    "correction": CorrectionRow,
    "phrase": PhraseRow,
    "setting": SettingRow,
}
DRAWN: dict[Kind, dict[str, str]] = {
    "shot": {"name": "name", "sequence": "sequence"},
    "take": {"shot_id": "shot", "sha256": "sha256"},
    "note": {"take_id": "take", "weight": "weight", "closed": "closed", "place": "place"},
    "drawing": {"take_id": "take"},
    "decision": {"shot_id": "shot", "verdict": "verdict"},
    "marker": {"take_id": "take"},
    "correction": {"take_id": "take"},
    "phrase": {},
    "setting": {},
}
"""Column -> field of the body that it repeats."""
