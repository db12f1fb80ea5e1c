"""Pieces of work on threads of one process, beside each other: OpenCV and numpy let others run while they reckon."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_EXCEPTION, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from threading import Event, Lock

import cv2

MOST = 4
"""Threads; more only wait for the interpreter (guess)."""
LOOK_EVERY_S = 0.1
"""Seconds between two looks at how far they are: often enough for a progress bar and for a stop (guess)."""


class Halted(Exception):
    """Somebody asked for a stop; raised in the work, never seen outside."""


class Going:
    """What a piece of work calls as it goes on; counts the steps of all."""

    def __init__(self) -> None:
        self._halt, self._lock, self.steps = Event(), Lock(), 0

    def on(self) -> None:
        """One step further. Raises Halted when it should not go on."""
        if self._halt.is_set():
            raise Halted
        with self._lock:
            self.steps += 1

    def halt(self) -> None:
        self._halt.set()


def side_by_side(todo: Sequence[Callable[[Going], None]], watch: Callable[[int], None]) -> None:
    """Do all of `todo`. watch : is told, on the caller's thread, how many steps are done; what it raises stops the rest, as does what any of them raises."""
    going = Going()
    watch(0)
    with _one_thread_each(), ThreadPoolExecutor(max(1, min(MOST, os.cpu_count() or 1)), thread_name_prefix="marks") as pool:
        futures = [pool.submit(work, going) for work in todo]
        try:
            rest: set[Future[None]] = set(futures)
            while rest:
                done, rest = wait(rest, LOOK_EVERY_S, FIRST_EXCEPTION)
                for one in done:
                    one.result()
                watch(going.steps)
        except BaseException:
            going.halt()
            raise


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """OpenCV does not split its own work meanwhile: that would only make the threads wait for each other."""
    before = cv2.getNumThreads()
    cv2.setNumThreads(1)
    try:
        yield
    finally:
        cv2.setNumThreads(before)
