"""The built pictures of a take on disk."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Sequence
from pathlib import Path
from time import monotonic

from shotcrit.clock import FrameClock, Span, runs
from shotcrit.crit.records import Take
from shotcrit.elsewhere.near import Playhead
from shotcrit.media.sealed import read_sealed

TELL_EVERY_S = 0.25
"""Seconds between words to the windows on which frames became ready (guess: fast enough for the eye, slow enough for 1,440 frames)."""


class BuiltFrames:
    """The pictures of one take: which are there, and where the reviewer is. playhead: shared with what builds them elsewhere.

    turn : held by the one request that makes missing pictures
    """

    def __init__(self, take: Take, clock: FrameClock, files: Sequence[Path], playhead: Playhead) -> None:
        self.take = take
        self.clock = clock
        self.files = files
        self.playhead = playhead
        self.turn = asyncio.Lock()
        self._there = [False] * len(files)
        self._lock = threading.Lock()
        self._looked = 0.0

    def read(self, index: int) -> bytes | None:
        """The bytes of a picture, or None when it is not built, was damaged or cannot be read: making it anew says why."""
        data = read_sealed(self.files[index])
        if data is None:
            with self._lock:
                self._there[index] = False
        return data

    def arrived(self, *, now: bool = False) -> list[Span]:
        """Runs of pictures that were built since the last look; looks at most every TELL_EVERY_S."""
        with self._lock:
            if not now and monotonic() - self._looked < TELL_EVERY_S:
                return []
            self._looked = monotonic()
            fresh = [not there and file.is_file() for there, file in zip(self._there, self.files, strict=True)]
            self._there = [there or new for there, new in zip(self._there, fresh, strict=True)]
            return runs(fresh)

    def ready(self) -> list[Span]:
        """Runs of pictures that are built."""
        self.arrived(now=True)
        return runs(self._there)

    def complete(self) -> bool:
        return all(self._there)
