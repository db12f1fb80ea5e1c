"""Making and opening crit files: every way a file can be wrong is one sentence, and a file is there whole or not at all."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

import shotcrit
from shotcrit.crit.ids import new_id
from shotcrit.errors import InputError
from shotcrit.plain_file import require_plain
from shotcrit.store.connect import APPLICATION_ID, pragma, writing_engine
from shotcrit.store.errors import StoreError, corrupt, translated
from shotcrit.store.tables import AboutRow
from shotcrit.store.upgrade import SCHEMA, upgrade

MAGIC = b"SQLite format 3\x00"
"""The first 16 bytes of every SQLite database (SQLite file format, section 1.3)."""
SUFFIX = ".crit"


def create_file(path: Path) -> None:
    """Make a new, empty crit. Raises InputError when something is there already, StoreError when the folder may not be written."""
    if path.exists():
        raise InputError(f"{path} is there already; open it, or choose another name")
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        part.touch(exist_ok=False)
        _fill(part)
        # A link never replaces: two windows that make the same crit at once cannot overwrite each other.
        os.link(part, path)
    except FileExistsError:
        raise InputError(f"{path} is there already; open it, or choose another name") from None
    except OSError as problem:
        raise StoreError(f"{path} cannot be made ({problem.strerror}); choose a folder that may be written and has room") from problem
    finally:
        for left in (part, *(part.with_name(part.name + tail) for tail in ("-wal", "-shm", "-journal"))):
            with suppress(OSError):
                left.unlink(missing_ok=True)


def _fill(part: Path) -> None:
    """Closing the engine's only connection folds the WAL into the file, so that it can be linked alone."""
    engine = writing_engine(part)
    try:
        with engine.begin() as connection:
            upgrade(connection)
            with Session(connection) as session:
                session.add_all([AboutRow(name="id", value=new_id()), AboutRow(name="made_by", value=shotcrit.__version__)])
                session.flush()
    except DBAPIError as problem:
        raise translated(problem, part.name) from problem
    finally:
        engine.dispose()


def check_file(path: Path) -> None:
    """Make sure that a file is a crit that this program can write, and bring an older one up to date. Raises one sentence otherwise."""
    _check_header(path)
    if not (_writable(path) and _writable(path.parent)):
        raise StoreError(f"{path} may not be written here, so no edit could be saved; copy it to a folder of your own")
    engine = writing_engine(path)
    try:
        with engine.begin() as connection:
            _check_content(connection, path)
    except UnicodeDecodeError as problem:  # SQLite quotes the damaged bytes of its own tables, which are no text any more
        raise corrupt(path) from problem
    except DBAPIError as problem:
        raise translated(problem, str(path)) from problem
    finally:
        engine.dispose()


def _writable(path: Path) -> bool:
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _check_header(path: Path) -> None:
    if path.exists():
        require_plain(path, "a file that Shotcrit made")
    try:
        with path.open("rb") as file:
            start = file.read(len(MAGIC))
    except FileNotFoundError:
        raise InputError(f"{path} is not there; look for the crit in another folder") from None
    except OSError as problem:
        raise InputError(f"{path} cannot be read ({problem.strerror}); check that it is a file and may be read") from problem
    if start != MAGIC:
        raise InputError(f"{path} is not a crit; give a file that Shotcrit made")


def _check_content(connection: Connection, path: Path) -> None:
    if pragma(connection, "application_id") != APPLICATION_ID:
        raise InputError(f"{path} is a database, but not a crit; give a file that Shotcrit made")
    form = int(pragma(connection, "user_version"))
    if form > SCHEMA:
        raise InputError(f"{path} was saved by a newer Shotcrit (form {form}, this one knows {SCHEMA}); update Shotcrit to open it")
    if pragma(connection, "quick_check") != "ok":
        raise corrupt(path)
    if form < SCHEMA:
        upgrade(connection)
