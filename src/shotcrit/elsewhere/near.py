"""This side of work elsewhere: hand it over, hear how far it is, stop it, and tell how it ended."""

from __future__ import annotations

import pickle
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from queue import Empty, SimpleQueue
from time import monotonic
from typing import IO, Any

from shotcrit.elsewhere.bounds import Bounds
from shotcrit.elsewhere.death import died, drop_traces
from shotcrit.elsewhere.far import Work
from shotcrit.errors import Stopped, TooLong, Unforeseen
from shotcrit.progress import Progress, Quiet

LOOK_EVERY_S = 0.1
"""Seconds between looks at whether to stop and where the playhead is."""
GRACE_S = 0.5
"""Seconds that a process which has nothing to do may take to end by itself."""
# Code is looked for where this process looks, and not in the folder that happens to be the current one.
BEGIN = "import pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); from shotcrit.elsewhere.far import main; main()"

Heard = Callable[[Any], None]


class NotStarted(Unforeseen):
    """No other process can be had here."""


@dataclass
class Playhead:
    """Where somebody is; what works elsewhere is told when it moves."""

    value: int = 0


def run_elsewhere(
    work: Work,
    *arguments: Any,
    progress: Progress | None = None,
    stop: threading.Event | None = None,
    heard: Heard | None = None,
    playhead: Playhead | None = None,
    bounds: Bounds | None = None,
) -> Any:
    """What `work(*arguments, watch)` returns, from a process of its own that ends with it; see Elsewhere.ask."""
    place = Elsewhere(bounds)
    try:
        return place.ask(work, *arguments, progress=progress, stop=stop, heard=heard, playhead=playhead)
    finally:
        place.close()


class Elsewhere:
    """A process beside this one that does one piece of work after another. Started when it is first needed, and again after it died."""

    def __init__(self, bounds: Bounds | None = None) -> None:
        self._bounds = bounds or Bounds()
        self._turn = threading.Lock()
        self._far: _Far | None = None

    def ask(
        self,
        work: Work,
        *arguments: Any,
        progress: Progress | None = None,
        stop: threading.Event | None = None,
        heard: Heard | None = None,
        playhead: Playhead | None = None,
    ) -> Any:
        """Have `work(*arguments, watch)` done there, and return what it returns. What waits for another's work waits here.

        work : a function at the top of a module; it, its arguments and its answer can be pickled
        progress : hears each step here, and stops the work by raising; stop : when set, the work is asked to stop, and Stopped is raised here
        heard : is given each part that is handed over early
        Raises what the work raised (an error that nobody foresaw as Unforeseen), Died when its process died, TooLong past the patience of the
        bounds, NotStarted when there is no process to be had.
        """
        with self._turn:
            if self._far is None:
                self._far = _Far(self._bounds)
            try:
                return self._far.ask(work, arguments, _Asked(progress or Quiet(), stop, heard, playhead, self._bounds))
            finally:
                if self._far.ended:
                    self._far = None

    def close(self) -> None:
        """End the process. May be called again."""
        with self._turn:
            if self._far is not None:
                self._far.end()
            self._far = None


@dataclass
class _Asked:
    """Who waits for a piece of work, for how long, and whether they still want it. refusal : why not, once they do not"""

    progress: Progress
    stop: threading.Event | None
    heard: Heard | None
    playhead: Playhead | None
    bounds: Bounds
    refusal: BaseException | None = None
    begun: float = field(default_factory=monotonic)
    refused: float = 0.0

    def take(self, message: tuple[Any, ...] | None) -> None:
        """A step or a part that came, or nothing for a while; a wish to stop that comes up is remembered."""
        try:
            what, *rest = message or ("nothing",)
            if what == "step":
                self.progress.step(rest[0], rest[1], rest[2])
            elif what == "part" and self.heard is not None:
                self.heard(rest[0])
            if self.stop is not None and self.stop.is_set():
                raise Stopped("stopped")
        except BaseException as problem:
            if self.refusal is None:
                self.refusal, self.refused = problem, monotonic()

    def out_of_patience(self) -> BaseException | None:
        """What to raise when the work has had all the time that it gets."""
        patience, now = self.bounds.patience_s, monotonic()
        if self.refusal is not None:
            return self.refusal if now - self.refused > self.bounds.stopping_s else None
        return TooLong(f"this takes more than {patience:g} s") if patience is not None and now - self.begun > patience else None


class _Far:
    """A process that is running. ended : it is of no use any more"""

    def __init__(self, bounds: Bounds) -> None:
        self.ended, self._ready, self._told = False, False, 0
        self._process = _start(bounds)
        self._in: SimpleQueue[tuple[Any, ...] | None] = SimpleQueue()
        threading.Thread(target=_read, args=(self._process.stdout, self._in), name="work elsewhere", daemon=True).start()
        self._say(sys.path)
        self._say(bounds)

    def ask(self, work: Work, arguments: tuple[Any, ...], asked: _Asked) -> Any:
        self._told = 0
        self._say(("work", work, arguments))
        try:
            what, answer = self._answer(asked)
        except BaseException:
            self.end()
            raise
        if asked.refusal is not None:
            raise asked.refusal
        if what == "failed":
            raise answer
        return answer

    def _answer(self, asked: _Asked) -> tuple[str, Any]:
        """What it said at the end. Raises when there is none, or nobody waits for it any longer; then the process has to be ended."""
        told_to_stop = False
        while True:
            self._tell_playhead(asked.playhead)
            message = self._next()
            if message is not None and message[0] in ("done", "failed"):
                return message[0], message[1]
            asked.take(message)
            if asked.refusal is not None and not told_to_stop:
                told_to_stop = True
                self._say(("stop",))
            if (problem := asked.out_of_patience()) is not None:
                raise problem

    def _tell_playhead(self, playhead: Playhead | None) -> None:
        if playhead is not None and playhead.value != self._told:
            self._told = playhead.value
            self._say(("playhead", self._told))

    def _next(self) -> tuple[Any, ...] | None:
        """The next message; None when there was none for a while. Raises Died or NotStarted when there will be none any more."""
        try:
            message = self._in.get(timeout=LOOK_EVERY_S)
        except Empty:
            return None
        if message is not None:
            self._ready = True
            return message
        status = self._left()
        if not self._ready:
            raise NotStarted("another process ended before it could begin; see whether this one may start others")
        raise died(self._process.pid, status)

    def _say(self, what: Any) -> None:
        # A process that went away is found out by what does not come back.
        data = pickle.dumps(what, protocol=pickle.HIGHEST_PROTOCOL)
        with suppress(OSError, ValueError):
            assert self._process.stdin is not None
            self._process.stdin.write(data)
            self._process.stdin.flush()

    def _left(self) -> int:
        """The exit status of a process that is wanted no more; by force where it does not go by itself."""
        with suppress(OSError):
            assert self._process.stdin is not None
            self._process.stdin.close()
        try:
            return self._process.wait(GRACE_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            return self._process.wait()

    def end(self) -> None:
        """End it, and take away what it leaves."""
        if not self.ended:
            self.ended = True
            self._left()
            drop_traces(self._process.pid)


def _start(bounds: Bounds) -> subprocess.Popen[bytes]:
    if not sys.executable:
        raise NotStarted("another process cannot be started (the interpreter does not know where it lies)")
    try:
        return subprocess.Popen(
            [sys.executable, "-P", "-c", BEGIN], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, **_apart(bounds)
        )
    except OSError as problem:
        raise NotStarted(f"another process cannot be started ({problem.strerror or problem})") from problem


def _apart(bounds: Bounds) -> dict[str, Any]:
    """Ctrl-C is for this process to hear; it stops the other by words."""
    if sys.platform == "win32":
        low = subprocess.BELOW_NORMAL_PRIORITY_CLASS if bounds.background else 0
        return {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP | subprocess.CREATE_NO_WINDOW | low}
    return {"start_new_session": True}


def _read(source: IO[bytes] | None, into: SimpleQueue[tuple[Any, ...] | None]) -> None:
    """Messages of the other process, as they come; None at their end."""
    assert source is not None
    with source:
        while True:
            try:
                into.put(pickle.load(source))
            except Exception:  # the other side broke off, in the middle of a message perhaps
                into.put(None)
                return
