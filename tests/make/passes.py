"""A pass with all of its rows in memory, and a store of blocks that is no more than a dictionary."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from shotcrit.media.blocks import FloatArray
from shotcrit.media.movie import Movie
from shotcrit.media.passes import Reader, rows_of_pass


def run_pass(movie: Movie, readers: Sequence[Reader], **more: Any) -> dict[str, FloatArray]:
    """rows_of_pass, with all rows in memory: float32 [shape=(n_frames, ...)] by reader name."""
    with rows_of_pass(movie, readers, **more) as rows:
        return {name: found[:] for name, found in rows.items()}


class MemoryBlocks:
    """Blocks that last as long as the process."""

    def __init__(self) -> None:
        self.kept: dict[tuple[str, int, int], FloatArray] = {}

    def load(self, name: str, version: int, block: int) -> FloatArray | None:
        return self.kept.get((name, version, block))

    def save(self, name: str, version: int, block: int, rows: FloatArray) -> None:
        self.kept[name, version, block] = rows
