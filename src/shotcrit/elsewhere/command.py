"""A whole command in a process of its own: this one only passes on what it is asked to do.

It costs one bare start of the interpreter, since nothing is loaded here that is not needed. What the command prints goes straight to where this process
prints to.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from types import FrameType

COMMANDED = "SHOTCRIT_COMMANDED"
"""Environment of the other process: that it is one."""
PASSED_ON = ("SIGINT", "SIGTERM", "SIGHUP", "SIGTSTP")
"""Signals that are the command's to answer, where the system has them."""


class Command:
    """`python -m module arguments`, from its start to its end. asked : the signals that were passed on to it"""

    def __init__(self, module: str, arguments: list[str]) -> None:
        self._line = [sys.executable, "-P", "-m", module, *arguments]
        self._process: subprocess.Popen[bytes] | None = None
        self.asked: set[int] = set()

    def run(self) -> int:
        """Its exit status; below 0 or above 255 when it died. Raises OSError when it cannot be started."""
        # A group of its own, so that Ctrl-C reaches it once, from here; where signals cannot be sent both hear Ctrl-C.
        own_group = None if sys.platform == "win32" else 0
        before = {}
        if sys.platform != "win32":
            before = {number: signal.signal(number, self._pass_on) for name in PASSED_ON if (number := getattr(signal, name, None))}
        else:
            before = {signal.SIGINT: signal.signal(signal.SIGINT, lambda *_: None)}
        try:
            self._process = subprocess.Popen(self._line, env={**os.environ, COMMANDED: "1"}, process_group=own_group)
            return self._process.wait()
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)

    @property
    def pid(self) -> int:
        """Its process id; 0 when it was never started."""
        return self._process.pid if self._process is not None else 0

    def _pass_on(self, number: int, _frame: FrameType | None) -> None:
        self.asked.add(int(number))
        if self._process is None or self._process.poll() is not None:
            return
        self._process.send_signal(number)
        if sys.platform != "win32" and number == signal.SIGTSTP:
            os.kill(os.getpid(), signal.SIGSTOP)  # and here it goes on when the shell says so
            self._process.send_signal(signal.SIGCONT)
