"""How long work tells how far it is, and how it is told to stop. Knows no screen."""

from __future__ import annotations

from typing import Protocol

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


class StopAfter:
    """Progress that stops at a given count of steps: how tests interrupt long work at an exact place."""

    def __init__(self, steps: int) -> None:
        self.left = steps

    def step(self, stage: str, done: float, total: float | None) -> None:
        self.left -= 1
        if self.left < 0:
            raise Stopped(stage)
