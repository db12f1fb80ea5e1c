"""The command's side of command.py: hold to the bounds, leave traces when it dies, and end when nobody waits any more."""

from __future__ import annotations

import os
import signal
import threading
import time

from shotcrit.elsewhere.bounds import Bounds, hold_to
from shotcrit.elsewhere.command import COMMANDED
from shotcrit.elsewhere.death import leave_traces

LOOK_EVERY_S = 0.5
"""Seconds between looks at whether the process that waits is still there."""


def be_command() -> None:
    """First thing in the other process; in one that nobody started so it does nothing."""
    if os.environ.pop(COMMANDED, None) is None:
        return
    hold_to(Bounds())
    leave_traces()
    threading.Thread(target=_end_with, args=(os.getppid(),), name="parent", daemon=True).start()


def _end_with(parent: int) -> None:
    """End when the process that waits is gone. Windows keeps saying the same parent; there both hear Ctrl-C, and this never ends."""
    while os.getppid() == parent:
        time.sleep(LOOK_EVERY_S)
    os.kill(os.getpid(), signal.SIGTERM)
