"""Rows of a reading, kept in blocks of frames, so that a stopped pass loses at most the block it was in."""

from __future__ import annotations

from typing import Protocol

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float32]

BLOCK = 256
"""Frames a block; about ten seconds. Small enough to lose, large enough that seeking between blocks costs little. Guess."""


class BlockStore(Protocol):
    """Keeps finished blocks of one medium. Both ways an array is float32 [shape=(frames in the block, ...)]."""

    def load(self, name: str, version: int, block: int) -> FloatArray | None:
        """The block as it was saved, or None when it is not there or no longer whole."""
        ...

    def save(self, name: str, version: int, block: int, rows: FloatArray) -> None:
        """Keep a finished block; whole or not at all."""
        ...


class MemoryBlocks:
    """Blocks that last as long as the process."""

    def __init__(self) -> None:
        self.kept: dict[tuple[str, int, int], FloatArray] = {}

    def load(self, name: str, version: int, block: int) -> FloatArray | None:
        return self.kept.get((name, version, block))

    def save(self, name: str, version: int, block: int, rows: FloatArray) -> None:
        self.kept[name, version, block] = rows


class RememberedBlocks:
    """Another store with a memory in front, so that a pass that is running outlives a cache that is emptied under it."""

    def __init__(self, behind: BlockStore) -> None:
        self._memory, self._behind = MemoryBlocks(), behind

    def load(self, name: str, version: int, block: int) -> FloatArray | None:
        rows = self._memory.load(name, version, block)
        if rows is None:
            rows = self._behind.load(name, version, block)
            if rows is not None:
                self._memory.save(name, version, block, rows)
        return rows

    def save(self, name: str, version: int, block: int, rows: FloatArray) -> None:
        self._behind.save(name, version, block, rows)
        self._memory.save(name, version, block, rows)

    def forget(self, name: str) -> None:
        """Free what lies in memory of a reading; the store behind keeps it."""
        self._memory.kept = {key: rows for key, rows in self._memory.kept.items() if key[0] != name}


def block_frames(block: int, frames: int) -> range:
    """The frame indices of a block in a movie of `frames` pictures."""
    return range(block * BLOCK, min((block + 1) * BLOCK, frames))


def block_count(frames: int) -> int:
    return -(-frames // BLOCK)
