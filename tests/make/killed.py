"""A child process that works until it is killed, and what it had said until then."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable


def said_until_killed(work: Callable[[int], None], life_s: float) -> list[str]:
    """Whole lines that `work` wrote to the pipe it is given, in a child that is killed `life_s` seconds after it first said something."""
    heard, said = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(heard)
            work(said)
        finally:
            os._exit(1)
    os.close(said)
    first = os.read(heard, 1)
    time.sleep(life_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(heard, "rb") as pipe:
        text = (first + pipe.read()).decode()
    return [line.removesuffix("\n") for line in text.splitlines(keepends=True) if line.endswith("\n")]
