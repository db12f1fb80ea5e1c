"""A job as the page sees it."""

from __future__ import annotations

from typing import Literal

from shotcrit.crit.records import Id, Shape


class Job(Shape):
    """Work in the background. done and total in the stage's own unit; says: the outcome or what went wrong, one sentence."""

    id: Id
    kind: Literal["measure", "frames", "send", "line up"]
    take: Id
    state: Literal["waiting", "running", "done", "stopped", "failed"]
    stage: str
    done: float
    total: float | None
    says: str
    files: tuple[str, ...] = ()
