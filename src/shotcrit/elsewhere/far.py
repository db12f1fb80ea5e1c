"""The other side: a process that is handed work on its standard input and answers on its standard output, which nobody else may write to.

In: where code lies (sys.path), Bounds, then one after the other ("work", function, arguments), ("stop",), ("playhead", frame).
Out: ("ready",), then ("step", stage, done, total), ("part", anything), and for each work ("done", answer) or ("failed", error).
"""

from __future__ import annotations

import os
import pickle
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from queue import SimpleQueue
from typing import IO, Any, Protocol

from shotcrit.elsewhere.bounds import hold_to
from shotcrit.elsewhere.death import drop_traces, leave_traces
from shotcrit.errors import OutOfMemory, ShotcritError, Stopped, Unforeseen
from shotcrit.unforeseen import unforeseen

LEFT_ALONE_S = 20.0
"""Seconds that work may take to leave its files whole after nobody waits for it any more (guess)."""
OUT_OF_MEMORY = "this takes more memory than it may; close other programs, or give something smaller"


class Watch(Protocol):
    """What work elsewhere is given besides its arguments: Progress, and two things more."""

    def step(self, stage: str, done: float, total: float | None) -> None:
        """As in Progress."""

    def tell(self, part: Any) -> None:
        """Hand over something that is ready before the whole is."""

    def around(self) -> int:
        """The playhead: the frame to work outward from."""


Work = Callable[..., Any]
"""A function at the top of a module, called as work(*arguments, watch)."""


class Inbox:
    """What came in, as the reading thread has it."""

    def __init__(self) -> None:
        self.work: SimpleQueue[tuple[Work, tuple[Any, ...]] | BaseException | None] = SimpleQueue()
        self.stop = threading.Event()
        self.playhead = 0

    def read(self, source: IO[bytes]) -> None:
        """Take in what is said until nobody is there any more."""
        while True:
            try:
                what, *rest = pickle.load(source)
            except (EOFError, OSError):
                break
            except Exception as problem:  # work that this process cannot find; what follows it can still be read
                self.work.put(problem)
                continue
            if what == "work":
                self.stop.clear()
                self.work.put((rest[0], rest[1]))
            elif what == "stop":
                self.stop.set()
            else:
                self.playhead = rest[0]
        self.stop.set()
        self.work.put(None)
        threading.Timer(LEFT_ALONE_S, os._exit, (1,)).start()


@dataclass(frozen=True)
class _FarWatch:
    inbox: Inbox
    out: IO[bytes]

    def step(self, stage: str, done: float, total: float | None) -> None:
        if self.inbox.stop.is_set():
            raise Stopped(stage)
        say(self.out, "step", stage, done, total)

    def tell(self, part: Any) -> None:
        say(self.out, "part", part)

    def around(self) -> int:
        return self.inbox.playhead


def say(out: IO[bytes], *what: Any) -> None:
    """One message; raises BrokenPipeError when nobody listens any more."""
    out.write(_packed(*what))
    out.flush()


def _packed(*what: Any) -> bytes:
    """Pickled as a whole before any of it is sent: half a message could not be taken back."""
    return pickle.dumps(what, protocol=pickle.HIGHEST_PROTOCOL)


def main() -> None:
    """Do work until nobody asks for any. Left without cleaning up, since a thread may still wait for input."""
    out = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    hold_to(pickle.load(sys.stdin.buffer))
    leave_traces()
    inbox = Inbox()
    with suppress(BrokenPipeError):
        threading.Thread(target=inbox.read, args=(sys.stdin.buffer,), daemon=True).start()
        say(out, "ready")
        while (given := inbox.work.get()) is not None:
            out.write(_answer(given, _FarWatch(inbox, out)))
            out.flush()
    drop_traces(os.getpid())
    os._exit(0)


def _answer(given: tuple[Work, tuple[Any, ...]] | BaseException, watch: Watch) -> bytes:
    """What the work came to, ready to be sent."""
    try:
        if isinstance(given, BaseException):
            raise given
        work, arguments = given
        return _packed("done", work(*arguments, watch))
    except BrokenPipeError:
        raise
    except (ShotcritError, Stopped) as problem:
        return _packed("failed", _sendable(problem))
    except MemoryError:
        return _packed("failed", OutOfMemory(OUT_OF_MEMORY))
    except BaseException as problem:
        return _packed("failed", _sendable(unforeseen(problem)))


def _sendable(problem: Exception) -> Exception:
    """The same error when it survives the way, else its text."""
    try:
        pickle.loads(pickle.dumps(problem))
    except Exception:
        return ShotcritError(str(problem)) if isinstance(problem, ShotcritError) else Unforeseen(str(problem))
    return problem
