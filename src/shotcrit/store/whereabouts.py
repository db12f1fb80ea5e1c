"""Where an open crit file lies: whether it was renamed, moved, taken away or replaced meanwhile, and where it is now."""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

from shotcrit.store.errors import StoreError

Identity = tuple[int, int]
"""Device and inode: what stays the same when a file is renamed or moved on its disk."""
OPEN_FILES = Path("/dev/fd")
"""The files that this process has open, by number (Linux and macOS)."""
TAILS = ("-wal", "-shm")
"""What SQLite keeps beside a database that is open (SQLite, Write-Ahead Logging, 2.2)."""


class Whereabouts:
    """A crit file at the place where it was opened."""

    def __init__(self, path: Path) -> None:
        self.path = path.absolute()
        self._identity = _identity(self.path)

    def left(self) -> bool:
        """Whether another file, or none, lies at the place by now."""
        return self._identity is not None and _identity(self.path) != self._identity

    def now(self) -> Path | None:
        """Where the file lies now: as the system says of what is open here, else under another name in its folder. None when it is gone."""
        for path in (*_open_here(), *_siblings(self.path)):
            if self._identity is not None and _identity(path) == self._identity:
                return path
        return None

    def tidy(self, place: Path) -> None:
        """Take away what the old file left beside its old place, once all of it lies at `place` and the old one is closed.

        A log of the old file would else be taken for one of a new file of that name.
        """
        if place == self.path or not self.path.exists():
            for tail in TAILS:
                with suppress(OSError):
                    self.path.with_name(self.path.name + tail).unlink(missing_ok=True)


def holds_all(path: Path, source: sqlite3.Connection) -> bool:
    """Whether the file at `path` is the same crit with as many edits as the open database has: the same one, put back by another program."""
    with suppress(sqlite3.Error), closing(sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True)) as there:
        return _facts(there) == _facts(source)
    return False


def _facts(database: sqlite3.Connection) -> tuple[object, ...]:
    return tuple(database.execute("SELECT (SELECT value FROM about WHERE name = 'id'), (SELECT max(seq) FROM history)").fetchone())


def beside(path: Path) -> Path:
    """A free name beside a file that is not ours: 'lantern.crit' -> 'lantern as open.crit', with a number when that is taken."""
    n, found = 1, path.with_name(f"{path.stem} as open{path.suffix}")
    while found.exists():
        n += 1
        found = path.with_name(f"{path.stem} as open {n}{path.suffix}")
    return found


def write_out(source: sqlite3.Connection, path: Path) -> None:
    """Everything that an open database holds, whole, as the file `path`. Raises StoreError when it cannot be written there."""
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with closing(sqlite3.connect(part)) as target:
            source.backup(target)
        os.replace(part, path)
    except (sqlite3.Error, OSError) as problem:
        raise StoreError(f"{path} is gone and cannot be written again ({problem}); put it back, or make room for it") from problem
    finally:
        part.unlink(missing_ok=True)


def _identity(path: Path) -> Identity | None:
    try:
        stat = path.stat()
    except OSError:
        return None
    return stat.st_dev, stat.st_ino


def _open_here() -> Iterator[Path]:
    """Paths of open files where the system tells them. Nothing is opened: closing it would let SQLite's locks go."""
    with suppress(OSError):
        for number in os.listdir(OPEN_FILES):
            with suppress(OSError):
                yield Path(os.readlink(f"/proc/self/fd/{number}"))


def _siblings(path: Path) -> Iterator[Path]:
    with suppress(OSError):
        yield from path.parent.iterdir()
