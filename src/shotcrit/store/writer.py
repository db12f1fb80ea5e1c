"""The one writer of a crit: a thread with a queue. Edits are stored one after the other, each on disk before it is answered."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, TypeVar

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from shotcrit.store.errors import StoreClosed, translated

R = TypeVar("R")
Task = tuple[Callable[[], Any], "Future[Any]"]


class Writer:
    """Runs functions in transactions, in the order they came. After `close`, asking for more raises StoreClosed."""

    def __init__(self, engine: Engine, name: str) -> None:
        self._engine = engine
        self._name = name
        self._tasks: queue.Queue[Task | None] = queue.Queue()
        self._lock = threading.Lock()
        self._closed = False
        self.thread = threading.Thread(target=self._run, name="crit writer", daemon=True)
        self.thread.start()

    def do(self, task: Callable[[Session], R]) -> R:
        """Run `task` in a transaction and wait until it is on disk. What it raises is raised here, and nothing is stored then."""
        return self._queued(lambda: self._transact(task))

    def change_place(self, move: Callable[[Engine], Engine]) -> None:
        """Between two transactions: hand the engine to `move`, and go on with the one that it answers."""

        def swap() -> None:
            self._engine = move(self._engine)

        self._queued(swap)

    def _queued(self, work: Callable[[], R]) -> R:
        answer: Future[R] = Future()
        with self._lock:
            if self._closed:
                raise StoreClosed(f"{self._name} was closed; open it again")
            self._tasks.put((work, answer))
        return answer.result()

    def close(self) -> None:
        """Finish what was asked for, then stop."""
        with self._lock:
            if self._closed:
                return
            self._closed = True
            self._tasks.put(None)
        self.thread.join()
        self._engine.dispose()

    def _run(self) -> None:
        while (entry := self._tasks.get()) is not None:
            work, answer = entry
            try:
                answer.set_result(work())
            except DBAPIError as problem:
                answer.set_exception(translated(problem, self._name))
            except BaseException as problem:
                answer.set_exception(problem)

    def _transact(self, task: Callable[[Session], R]) -> R:
        with Session(self._engine, expire_on_commit=False) as session, session.begin():
            return task(session)
