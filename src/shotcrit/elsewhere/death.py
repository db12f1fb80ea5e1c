"""What is told of a process that ended without an answer, and the traces by which it is known where it was."""

from __future__ import annotations

import atexit
import faulthandler
import os
import signal
import tempfile
from contextlib import suppress
from pathlib import Path

from shotcrit.errors import Died
from shotcrit.unforeseen import report_of_death, written

MOST_TRACES = 1 << 16
"""Bytes of traces that are read."""
PREFIX = "shotcrit-traces-"


def leave_traces() -> None:
    """From now on this process writes its last steps into a file when it dies. The file goes when it ends otherwise."""
    with suppress(OSError):
        handle, _name = tempfile.mkstemp(prefix=f"{PREFIX}{os.getpid()}-")
        faulthandler.enable(os.fdopen(handle, "wb"))
        atexit.register(drop_traces, os.getpid())


def drop_traces(process: int) -> str:
    """Take away what a process left, and return it; empty when it left nothing."""
    left = ""
    for path in Path(tempfile.gettempdir()).glob(f"{PREFIX}{process}-*"):
        with suppress(OSError):
            with path.open("rb") as file:
                left += file.read(MOST_TRACES).decode(errors="replace")
            path.unlink()
    return left


def cause_of(status: int) -> str:
    """An exit status as people write it: 'SIGSEGV', 'exit status 3'."""
    with suppress(ValueError):
        if status < 0:
            return signal.Signals(-status).name
    return f"exit status {status:#x}" if status > 255 else f"exit status {status}"


def died(process: int, status: int, what: str = "the work") -> Died:
    """The error to tell of a process that died, after a report was written. what : what it did, such as 'the command'"""
    cause = cause_of(status)
    # The kernel ends a process so when memory is short; nobody else would.
    advice = (
        "close other programs and try again" if cause == "SIGKILL" else "most likely a file that was given is damaged, so export it again"
    )
    return Died(f"{what} broke off ({cause}); {advice}; {written(report_of_death(cause, drop_traces(process)))}", cause)
