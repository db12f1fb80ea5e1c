"""One open crit: edits through its one writer, views of one moment through read-only connections, and word of what others changed."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import cast

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from shotcrit.errors import InputError, ShotcritError
from shotcrit.store import commit as commits
from shotcrit.store.commit import Act, Bases, Saved
from shotcrit.store.connect import Place, reading_engine, writing_engine
from shotcrit.store.errors import StoreClosed, StoreError, translated
from shotcrit.store.opening import check_file, create_file
from shotcrit.store.tables import AboutRow
from shotcrit.store.views import SessionView
from shotcrit.store.whereabouts import Whereabouts, beside, holds_all, write_out
from shotcrit.store.writer import Writer

LOOK_EVERY_S = 0.2
"""Seconds between looks for other windows' edits; the promise is one second."""
Listener = Callable[[int], None]


class CritFile:
    """An open crit. Safe to use from many threads. After `close`, every call raises StoreClosed.

    scope_by_person : undo takes back one's own edits only, for a team; else the crit's last edit, whoever made it
    """

    def __init__(self, place: Place, name: str, *, scope_by_person: bool = False) -> None:
        self.name = name
        self._by_person = scope_by_person
        self._writer = Writer(_held(writing_engine(place), name), name)
        self._readers = reading_engine(place)
        self._closed = threading.Event()
        self._look = threading.Event()
        self._watcher: threading.Thread | None = None
        self._where = Whereabouts(place) if isinstance(place, Path) else None
        self._hear_moved: Callable[[str], None] = lambda _says: None

    @classmethod
    def open(cls, path: Path, *, scope_by_person: bool = False) -> CritFile:
        """Open a crit file, brought up to date. Raises InputError or StoreError, one sentence."""
        check_file(path)
        return cls(path, path.name, scope_by_person=scope_by_person)

    @classmethod
    def create(cls, path: Path, *, scope_by_person: bool = False) -> CritFile:
        """Make a crit file and open it."""
        create_file(path)
        return cls.open(path, scope_by_person=scope_by_person)

    def close(self) -> None:
        """Finish what is being stored, and let the file go."""
        if self._closed.is_set():
            return
        self._closed.set()
        self._look.set()
        if self._watcher is not None and self._watcher is not threading.current_thread():
            self._watcher.join()
        with suppress(ShotcritError):
            self._stay()
        # Readers go first: the last connection to close folds the WAL back into the file, and it has to be one that may write.
        self._readers.dispose()
        self._writer.close()

    def __enter__(self) -> CritFile:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def edit(self, who: str, act: Act, bases: Bases | None = None, *, undoable: bool = True) -> Saved:
        """Store an edit; it is on disk when this returns, in the crit wherever that lies by now. See `store.commit.commit`."""
        scope = self.scope(who)
        return self._stored(lambda session: commits.commit(session, who, act, bases or {}, scope=scope, undoable=undoable))

    def undo(self, who: str) -> Saved:
        return self._stored(lambda session: commits.undo(session, who, self.scope(who)))

    def redo(self, who: str) -> Saved:
        return self._stored(lambda session: commits.redo(session, who, self.scope(who)))

    def _stored(self, task: Callable[[Session], Saved]) -> Saved:
        saved = self._writer.do(task)
        # Looked at before anything is acknowledged: a file that was moved has its last edits in a log that stayed behind.
        self._stay()
        self._look.set()
        return saved

    def scope(self, who: str) -> str | None:
        """Whose edits undo may take back."""
        return who if self._by_person else None

    @contextmanager
    def view(self) -> Iterator[SessionView]:
        """The crit at one moment, for as long as the block lasts."""
        if self._closed.is_set():
            raise StoreClosed(f"{self.name} was closed; open it again")
        self._stay()
        try:
            with Session(self._readers) as session:
                yield SessionView(session)
        except DBAPIError as problem:
            raise translated(problem, self.name) from problem

    def crit_id(self) -> str:
        """The crit's own id, the same for ever and in every copy."""
        with self.view() as view:
            return view.session.get_one(AboutRow, "id").value

    def copy_to(self, path: Path) -> None:
        """A whole copy of a crit file, as it is at this moment. Raises InputError when something is there, StoreError when it fails."""
        if path.exists():
            raise InputError(f"{path} is there already; choose another folder or name")
        if self._closed.is_set():
            raise StoreClosed(f"{self.name} was closed; open it again")
        source = self._readers.raw_connection()
        try:
            target = sqlite3.connect(path)
            with closing(target):
                cast(sqlite3.Connection, source.driver_connection).backup(target)
        except (sqlite3.Error, OSError) as problem:
            path.unlink(missing_ok=True)
            raise StoreError(f"{path} cannot be written ({problem}); choose a folder that may be written and has room") from problem
        finally:
            source.close()

    # Staying with the file

    def on_moved(self, hear: Callable[[str], None]) -> None:
        """`hear` is called with a sentence when the file was renamed, moved, taken away or replaced while it was open here."""
        self._hear_moved = hear

    def _stay(self) -> None:
        """Go after the file when it is not where it was."""
        if self._where is not None and self._where.left() and threading.current_thread() is not self._writer.thread:
            self._writer.change_place(self._go_after)

    def _go_after(self, engine: Engine) -> Engine:
        """The engine of the crit's new place. Everything is put there first, and nothing stays behind in the old place's log."""
        where = self._where
        if where is None or not where.left():
            return engine
        raw = engine.raw_connection()
        try:
            place, says = _new_place(where, cast(sqlite3.Connection, raw.driver_connection))
        finally:
            raw.close()
        engine.dispose()
        self._readers.dispose()
        where.tidy(place)
        self._readers, self._where, self.name = reading_engine(place), Whereabouts(place), place.name
        self._hear_moved(says)
        moved = writing_engine(place)
        # The last connection to close clears away a log that came along with its folder, even when nothing is edited any more.
        moved.connect().close()
        return moved

    def watch(self, listener: Listener) -> None:
        """Call `listener(last)` from a thread of its own whenever there are edits, from any window; last: the newest edit's number."""
        with self.view() as view:
            seen = view.seq()
        self._watcher = threading.Thread(target=self._watch, args=(listener, seen), name="crit watcher", daemon=True)
        self._watcher.start()

    def _watch(self, listener: Listener, seen: int) -> None:
        while not self._closed.is_set():
            self._look.wait(LOOK_EVERY_S)
            self._look.clear()
            # A look that fails (file busy, just closed) is made again at the next turn.
            with suppress(ShotcritError):
                with self.view() as view:
                    last = view.seq()
                if last > seen:
                    seen = last
                    listener(last)


def _held(engine: Engine, name: str) -> Engine:
    """The same engine with its file open from now on: one that is renamed before its first edit can be gone after by that alone."""
    try:
        engine.connect().close()
    except DBAPIError as problem:
        raise translated(problem, name) from problem
    return engine


def _new_place(where: Whereabouts, source: sqlite3.Connection) -> tuple[Path, str]:
    """Where the crit lies from now on, with all of it there, and what to say of it."""
    found = where.now()
    if found is not None and _log_folded(source):
        return found, f"{where.path.name} is now {found}; all of it is there, and what you do is saved there"
    if found is not None:
        write_out(source, found)
        return found, f"{where.path.name} is now {found}; all of it was put there, and what you do is saved there"
    if not where.path.exists():
        write_out(source, where.path)
        return where.path, f"{where.path} was taken away while it was open; all of it was written there again"
    if _log_folded(source) and holds_all(where.path, source):
        return where.path, f"{where.path} was put there anew by another program; all of it is there, and what you do is saved there"
    other = beside(where.path)
    write_out(source, other)
    return other, f"another file lies at {where.path} now; your crit is {other}, and what you do is saved there"


def _log_folded(source: sqlite3.Connection) -> bool:
    """Put the write-ahead log into the file, wherever that lies. False when somebody who reads keeps it from that."""
    busy, _, _ = source.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    return busy == 0
