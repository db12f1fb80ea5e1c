"""How long work tells how far it is, and how it is told to stop. Knows no screen."""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from typing import Protocol, TypeVar

from shotcrit.errors import Stopped


class Progress(Protocol):
    """What a caller hands to long work."""

    def step(self, stage: str, done: float, total: float | None) -> None:
        """Report `done` of `total` (any unit; None where unknown) within `stage`, a plain phrase such as 'reading pictures'.

        Raises Stopped when the user asked to stop; long work lets it through after leaving its files whole.
        """


class Quiet:
    """Progress that nobody watches, and that never stops."""

    def step(self, stage: str, done: float, total: float | None) -> None:
        return None


Made = TypeVar("Made")


class Shared:
    """Progress for work on several threads that belong together: they report one at a time, and when one fails the others stop.

    failure : what the first that failed raised; what the others raise after it (Stopped, at their next step) says nothing
    """

    def __init__(self, behind: Progress) -> None:
        self._behind, self._lock = behind, Lock()
        self.failure: BaseException | None = None

    def step(self, stage: str, done: float, total: float | None) -> None:
        with self._lock:
            if self.failure is not None:
                raise Stopped(stage)
            self._behind.step(stage, done, total)

    def run(self, work: Callable[[], Made]) -> Made:
        """One of the pieces of work; lets through what it raises."""
        try:
            return work()
        except BaseException as problem:
            with self._lock:
                self.failure = self.failure or problem
            raise


class StopAfter:
    """Progress that stops at a given count of steps: how tests interrupt long work at an exact place."""

    def __init__(self, steps: int) -> None:
        self.left = steps

    def step(self, stage: str, done: float, total: float | None) -> None:
        self.left -= 1
        if self.left < 0:
            raise Stopped(stage)
