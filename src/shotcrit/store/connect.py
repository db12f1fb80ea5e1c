"""Engines for a crit: one that writes, one that only reads. What is peculiar to SQLite is kept here, behind its dialect."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import ConnectionPoolEntry, QueuePool

from shotcrit.store.errors import corrupt

BUSY_MS = 5000
"""Milliseconds to wait for another window's write to end (guess: a write takes a few)."""
APPLICATION_ID = 0x43524954
"""'CRIT' in SQLite's header, bytes 68 to 71 (SQLite file format, section 1.3)."""


Place = Path | str
"""A crit file, or SQLAlchemy's address of a team's database."""


def writing_engine(place: Place) -> Engine:
    """For the one writer: every transaction takes the write lock when it begins, and is on disk when it ends."""
    if isinstance(place, Path):
        engine = create_engine(
            "sqlite://",
            creator=lambda: _connected(place, "rw"),
            json_deserializer=_read_json(place.name),
            poolclass=QueuePool,
            pool_size=1,
            max_overflow=0,
        )
        event.listen(engine, "connect", _prepare_writer)
        event.listen(engine, "begin", _begin_immediate)
        return engine
    engine = create_engine(place, pool_size=1, max_overflow=0)
    event.listen(engine, "begin", _lock_history)
    return engine


def reading_engine(place: Place) -> Engine:
    """For readers: each transaction sees one moment and can change nothing."""
    if isinstance(place, Path):
        engine = create_engine(
            "sqlite://", creator=lambda: _connected(place, "ro"), json_deserializer=_read_json(place.name), poolclass=QueuePool
        )
        event.listen(engine, "connect", _prepare_reader)
        event.listen(engine, "begin", _begin)
        return engine
    return create_engine(place).execution_options(postgresql_readonly=True, isolation_level="REPEATABLE READ")


def _read_json(name: str) -> Callable[[str], Any]:
    """Stored JSON as values; damage is told as damage of the crit."""

    def read(text: str) -> Any:
        try:
            return json.loads(text)
        except (ValueError, TypeError, RecursionError) as problem:
            raise corrupt(name) from problem

    return read


def _connected(path: Path, mode: str) -> sqlite3.Connection:
    # By creator and not by SQLAlchemy's address, in which a name with ? # or % would come out as another file.
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, check_same_thread=False)


def _prepare_writer(connection: sqlite3.Connection, _entry: ConnectionPoolEntry) -> None:
    # None hands transactions to us; sqlite3 would otherwise begin them late, and not before DDL.
    connection.isolation_level = None
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", f"busy_timeout = {BUSY_MS}"):
        connection.execute(f"PRAGMA {pragma}").fetchall()


def _prepare_reader(connection: sqlite3.Connection, _entry: ConnectionPoolEntry) -> None:
    connection.isolation_level = None
    for pragma in ("query_only = ON", f"busy_timeout = {BUSY_MS}"):
        connection.execute(f"PRAGMA {pragma}").fetchall()


def _begin_immediate(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN")


def _lock_history(connection: Connection) -> None:
    """PostgreSQL: edits of a team are numbered one after the other."""
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({APPLICATION_ID})")


def pragma(connection: Connection, name: str) -> Any:
    """One value that SQLite keeps about a file."""
    return connection.exec_driver_sql(f"PRAGMA {name}").scalar()
