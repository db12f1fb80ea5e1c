"""Progress on standard error: bars with time left for whatever takes over a second, and Ctrl-C as a clean stop."""

from __future__ import annotations

import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn, TimeRemainingColumn

from shotcrit.errors import Stopped

SHOW_AFTER_S = 1.0
"""Work shorter than this shows no bar (issue: 'everything over a second')."""


class Bars:
    """One bar a stage. A first Ctrl-C asks the work to stop at its next step, a second one breaks off at once."""

    def __init__(self, console: Console) -> None:
        self._console = console
        self._bars: Progress | None = None
        self._tasks: dict[str, TaskID] = {}
        self._began = time.monotonic()
        self.stop_asked = False

    def step(self, stage: str, done: float, total: float | None) -> None:
        if self.stop_asked:
            raise Stopped(stage)
        if self._bars is None and time.monotonic() - self._began > SHOW_AFTER_S:
            self._bars = Progress(
                TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), console=self._console
            )
            self._bars.start()
        if self._bars is None:
            return
        if stage not in self._tasks:
            self._tasks[stage] = self._bars.add_task(stage, total=total)
        self._bars.update(self._tasks[stage], completed=done, total=total)

    def close(self, *, finished: bool) -> None:
        """Take the bars off; after work that came to its end each stands full, since reports come in strides and the last may fall short."""
        if self._bars is None:
            return
        if finished:
            for task in self._bars.tasks:
                self._bars.update(task.id, total=task.total or task.completed, completed=task.total or task.completed)
        self._bars.stop()


@contextmanager
def watched(console: Console) -> Iterator[Bars]:
    """Bars for a piece of long work; puts the old Ctrl-C handler back at the end."""
    bars = Bars(console)

    def asked(_signal: int, _frame: FrameType | None) -> None:
        if bars.stop_asked:
            raise KeyboardInterrupt
        bars.stop_asked = True

    before = signal.signal(signal.SIGINT, asked)
    finished = False
    try:
        yield bars
        finished = True
    finally:
        signal.signal(signal.SIGINT, before)
        bars.close(finished=finished)
