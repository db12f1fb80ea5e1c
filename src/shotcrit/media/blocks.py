"""Rows of a reading, kept in blocks of frames, so that a stopped pass loses at most the block it was in."""

from __future__ import annotations

import io
import tempfile
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from shotcrit.errors import ReadingError

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


class SpooledBlocks:
    """Blocks in a temporary file that vanishes with them: a long movie's rows would fill the memory."""

    def __init__(self) -> None:
        self._file = tempfile.TemporaryFile(prefix="shotcrit-rows-")  # noqa: SIM115 - closed by close()
        self._places: dict[tuple[str, int, int], tuple[int, tuple[int, ...]]] = {}

    def __enter__(self) -> SpooledBlocks:
        return self

    def __exit__(self, *_problem: object) -> None:
        self._file.close()

    def load(self, name: str, version: int, block: int) -> FloatArray | None:
        place = self._places.get((name, version, block))
        if place is None:
            return None
        rows = np.empty(place[1], np.float32)
        self._file.seek(place[0])
        self._file.readinto(rows.data.cast("B") if rows.size else bytearray())
        return rows

    def save(self, name: str, version: int, block: int, rows: FloatArray) -> None:
        at = self._file.seek(0, io.SEEK_END)
        self._file.write(np.ascontiguousarray(rows, np.float32).tobytes())
        self._places[name, version, block] = at, rows.shape


class RememberedBlocks:
    """Another store with one of our own in front, so that a pass that is running outlives a cache that is emptied under it."""

    def __init__(self, behind: BlockStore, front: BlockStore) -> None:
        self._front, self._behind = front, behind

    def load(self, name: str, version: int, block: int) -> FloatArray | None:
        rows = self._front.load(name, version, block)
        if rows is None:
            rows = self._behind.load(name, version, block)
            if rows is not None:
                self._front.save(name, version, block, rows)
        return rows

    def save(self, name: str, version: int, block: int, rows: FloatArray) -> None:
        self._behind.save(name, version, block, rows)
        self._front.save(name, version, block, rows)


class Rows(Protocol):
    """Rows of all frames, as an array has them, wherever they lie."""

    def __len__(self) -> int: ...

    def __getitem__(self, frames: slice) -> FloatArray:
        """float32 [shape=(frames asked for, ...)]; the slice without a step"""
        ...


@dataclass(frozen=True)
class StoredRows:
    """Rows of `frames` frames that lie in a store, read as they are asked for. All blocks must be there."""

    store: BlockStore
    name: str
    version: int
    frames: int

    def __len__(self) -> int:
        return self.frames

    def __getitem__(self, frames: slice) -> FloatArray:
        first, stop, _ = frames.indices(self.frames)
        blocks = range(first // BLOCK, max(block_count(stop), first // BLOCK + 1))
        return np.concatenate([self._rows(block)[max(first - block * BLOCK, 0) : max(stop - block * BLOCK, 0)] for block in blocks])

    def _rows(self, block: int) -> FloatArray:
        rows = self.store.load(self.name, self.version, block)
        if rows is None:
            raise ReadingError(f"finished blocks of reading {self.name} went missing while it ran; run it again")
        return rows


def block_frames(block: int, frames: int) -> range:
    """The frame indices of a block in a movie of `frames` pictures."""
    return range(block * BLOCK, min((block + 1) * BLOCK, frames))


def block_count(frames: int) -> int:
    return -(-frames // BLOCK)
