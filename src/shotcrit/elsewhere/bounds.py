"""How much memory and time work elsewhere may take."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from dataclasses import dataclass

if sys.platform != "win32":
    import resource

SHARE = 0.75
"""Of the machine's memory that one process may take, where nothing smaller is said (guess: what is left keeps the machine answering)."""
NICE = 10
"""Priority of background work; measured: at nice 10 a film being built drops no frame of one being played."""
STOPPING_S = 20.0
"""Seconds (guess)."""


@dataclass(frozen=True)
class Bounds:
    """memory : bytes, held to where the system can; None = SHARE of the machine's
    patience_s : seconds after which one piece of work is given up; None = never
    stopping_s : seconds that stopping work may take to leave its files whole, before it is ended by force
    background : let whatever else runs go first
    """

    memory: int | None = None
    patience_s: float | None = None
    stopping_s: float = STOPPING_S
    background: bool = False


def hold_to(bounds: Bounds) -> None:
    """Hold this process to its bounds, as far as the system can; on Windows it is started with the priority that it has."""
    if sys.platform != "win32":
        with suppress(OSError):
            if bounds.background:
                os.nice(NICE)
        most = bounds.memory or machine_share()
        if most:
            # What a process has written to counts, not what is mapped: libraries reserve far more addresses than they use.
            with suppress(OSError, ValueError, AttributeError):
                hardest = resource.getrlimit(resource.RLIMIT_DATA)[1]
                resource.setrlimit(resource.RLIMIT_DATA, (most if hardest < 0 else min(most, hardest), hardest))


def machine_share() -> int:
    """SHARE of the machine's memory in bytes; 0 where the system does not say."""
    if sys.platform == "win32":
        return 0
    try:
        return int(SHARE * os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES"))
    except (AttributeError, ValueError, OSError):
        return 0
