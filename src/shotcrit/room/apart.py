"""Long work in a process of its own, at a low priority, so that frames keep coming while a movie is being measured."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.sharedctypes import Synchronized
from threading import Event
from typing import Any

from shotcrit.errors import ShotcritError, Stopped
from shotcrit.progress import Progress

NICE = 10
"""Priority of background work; measured: at nice 10 a film being built drops no frame of one being played."""
LOOK_EVERY_S = 0.1
"""Seconds between looks at whether to stop."""
PATIENCE_S = 20.0
"""Seconds that stopping work may take to leave its files whole, before it is ended by force (guess)."""

Work = Callable[..., Any]
"""A picklable function; it is given `progress` and `around` (a function that tells the playhead) besides its arguments."""
Told = Callable[[str, float, float | None], None]
Heard = Callable[[Any], None]


@dataclass(frozen=True)
class _Reporter:
    """Progress at the far end: tells through the pipe, and stops when asked."""

    pipe: Connection
    stop: Any

    def step(self, stage: str, done: float, total: float | None) -> None:
        if self.stop.is_set():
            raise Stopped(stage)
        self.pipe.send(("step", stage, done, total))

    def tell(self, part: Any) -> None:
        """Hand over something that is ready before the whole is."""
        self.pipe.send(("part", part))


class Broken(ShotcritError):
    """The other process ended without an answer."""


def run_apart(
    work: Work, *arguments: Any, told: Told, stop: Event, around: Synchronized[int] | None = None, heard: Heard | None = None
) -> Any:
    """Run `work(*arguments, progress=..., around=...)` in another process and return what it returns.

    told : called with each step's stage, done, total; heard : with each part that is handed over early
    stop : when set, the work is asked to stop, and Stopped is raised here
    Raises what the work raised (ShotcritErrors as they are), or Broken when its process died.
    """
    context = get_context("spawn")
    here, there = context.Pipe(duplex=False)
    halt = context.Event()
    playhead = around if around is not None else context.Value("q", 0)
    process = context.Process(target=_far_end, args=(there, halt, playhead, work, arguments), daemon=True)
    process.start()
    there.close()
    try:
        return _listen(here, process, told, stop, halt, heard or (lambda _part: None))
    finally:
        here.close()
        _end(process, halt)


def _listen(here: Connection, process: BaseProcess, told: Told, stop: Event, halt: Any, heard: Heard) -> Any:
    asked_s = 0.0
    while True:
        if here.poll(LOOK_EVERY_S):
            try:
                what, *rest = here.recv()
            except (EOFError, OSError):
                raise Broken("the work ended by itself, perhaps for want of memory; close other programs and start it again") from None
            if what == "step":
                told(rest[0], rest[1], rest[2])
                if not stop.is_set():
                    continue
            elif what == "part":
                heard(rest[0])
                continue
            elif what == "done":
                return rest[0]
            else:
                raise rest[0]
        if stop.is_set():
            halt.set()
            asked_s += LOOK_EVERY_S
            if asked_s > PATIENCE_S:
                raise Stopped("stopped by force")


def _end(process: BaseProcess, halt: Any) -> None:
    halt.set()
    process.join(LOOK_EVERY_S)
    if process.is_alive():
        process.terminate()
        process.join()


def _far_end(pipe: Connection, stop: Any, playhead: Any, work: Work, arguments: tuple[Any, ...]) -> None:
    with suppress(OSError, AttributeError):
        os.nice(NICE)
    reporter: Progress = _Reporter(pipe, stop)
    try:
        answer = ("done", work(*arguments, progress=reporter, around=lambda: int(playhead.value)))
    except BaseException as problem:
        answer = ("failed", _sendable(problem))
    with suppress(OSError):
        pipe.send(answer)
        pipe.close()


def _sendable(problem: BaseException) -> BaseException:
    """The exception itself where it survives the way, else its text."""
    try:
        pickle.loads(pickle.dumps(problem))
    except Exception:
        return Broken(str(problem) or type(problem).__name__)
    return problem
