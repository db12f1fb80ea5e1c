"""Decode on another thread while this one measures."""

from __future__ import annotations

import threading
from collections.abc import Generator, Iterator
from queue import Empty, Full, Queue
from typing import TypeVar

Item = TypeVar("Item")

_WAIT_S = 0.1
"""Seconds between two looks at whether the other side is still there."""


def ahead(items: Iterator[Item], depth: int) -> Generator[Item, None, None]:
    """The same items in the same order, up to `depth` of them made in advance. Closing the iterator ends the thread.

    What the source raises is raised here, in its place.
    """
    queue: Queue[tuple[Item | None, BaseException | None]] = Queue(depth)
    stop = threading.Event()
    worker = threading.Thread(target=_fill, args=(items, queue, stop), name="pictures ahead", daemon=True)
    worker.start()
    try:
        while True:
            item, problem = _next(queue, worker)
            if problem is not None:
                raise problem
            if item is None:
                return
            yield item
    finally:
        stop.set()
        worker.join()


def _next(queue: Queue[tuple[Item | None, BaseException | None]], worker: threading.Thread) -> tuple[Item | None, BaseException | None]:
    while True:
        try:
            return queue.get(timeout=_WAIT_S)
        except Empty:
            if not worker.is_alive() and queue.empty():
                return None, None


def _fill(items: Iterator[Item], queue: Queue[tuple[Item | None, BaseException | None]], stop: threading.Event) -> None:
    try:
        for item in items:
            if not _put(queue, (item, None), stop):
                return
    except BaseException as problem:
        _put(queue, (None, problem), stop)
    else:
        _put(queue, (None, None), stop)
    finally:
        close = getattr(items, "close", None)
        if close is not None:
            close()


def _put(
    queue: Queue[tuple[Item | None, BaseException | None]], entry: tuple[Item | None, BaseException | None], stop: threading.Event
) -> bool:
    while not stop.is_set():
        try:
            queue.put(entry, timeout=_WAIT_S)
            return True
        except Full:
            continue
    return False
