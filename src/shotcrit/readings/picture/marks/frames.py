"""Luma pictures of a shot, kept where both directions of time can reach them without filling the memory."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Set
from types import TracebackType
from typing import Any, Protocol

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.errors import ReadingError

WORK_WIDTH = 960
"""px; marks are followed at this width. Sub-pixel following makes more of it than the eye can place; wider only costs time (guess)."""

MOST_NEAR = 160 * 2**20
"""Bytes of working pictures that stay in memory: ten seconds of 960x540. Writing them to disk and reading them back cost a twentieth of following."""

MOST_LARGE = 512 * 2**20
"""Bytes of full-size pictures kept on disk until faces are cut out of them: ten seconds at 1920x1080; reading them again would cost more (guess)."""

Luma = npt.NDArray[np.uint8]


class OnePicture(Protocol):
    index: int

    def luma(self, width: int) -> Luma: ...


def work_size(size: tuple[int, int], *, width: int = WORK_WIDTH) -> tuple[int, int]:
    """(width, height) px at which a picture of `size` is worked on: never larger than it is."""
    wide, high = size
    if wide <= width:
        return wide, high
    return width, max(1, round(high * width / wide))


class FrameStore:
    """Luma frames; any frame can be read at any time. The first ones stay in memory, what is more in a temporary file that vanishes with the store.

    A minute of 960x540 luma is 750 MB: on disk, where the system keeps in memory what it can spare.
    """

    def __init__(self, size: tuple[int, int], *, near: int = MOST_NEAR) -> None:
        """near : bytes that stay in memory, at most"""
        self.size = size
        self._near: list[Luma] = []
        self._most_near = near // max(size[0] * size[1], 1)
        self._file: Any = tempfile.TemporaryFile(prefix="shotcrit-")  # noqa: SIM115 (closed by __exit__)
        self._count = 0
        self._map: np.memmap[Any, np.dtype[np.uint8]] | None = None

    def __enter__(self) -> FrameStore:
        return self

    def __exit__(self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None) -> None:
        self._map = None
        self._near = []
        self._file.close()

    def __len__(self) -> int:
        return self._count

    def add(self, luma: Luma) -> None:
        """Append a frame, uint8 [shape=(height, width)]; scaled down here when it is larger than the store's size."""
        wide, high = self.size
        if luma.ndim != 2:
            raise ReadingError("marks are followed on luma pictures of two dimensions; a picture with another shape came in")
        if luma.shape != (high, wide):
            luma = np.asarray(cv2.resize(luma, (wide, high), interpolation=cv2.INTER_AREA), dtype=np.uint8)
        self._count += 1
        if len(self._near) < self._most_near:
            self._near.append(luma)
            return
        self._file.write(np.ascontiguousarray(luma).data)
        self._map = None

    def __getitem__(self, index: int) -> Luma:
        """uint8 [shape=(height, width)], read only. Raises IndexError past the end."""
        if not 0 <= index < self._count:
            raise IndexError(index)
        if index < len(self._near):
            return self._near[index]
        far = self._count - len(self._near)
        if self._map is None:
            self._file.flush()
            self._map = np.memmap(self._file, np.uint8, "r", shape=(far, self.size[1], self.size[0]))
        return np.asarray(self._map[index - len(self._near)])


def fill(store: FrameStore, pictures: Iterable[tuple[int, Luma]]) -> None:
    """Read all `pictures`, whose indices must run 0, 1, 2, ... Raises ReadingError where they do not."""
    for index, luma in pictures:
        if index != len(store):
            raise ReadingError(f"pictures must come one after the other; {index} came where {len(store)} was due")
        store.add(luma)


class KeptLarge:
    """Full-size luma of some frames, kept in passing as the pictures are read for something else, as far as MOST_LARGE goes."""

    def __init__(self, store: FrameStore, wanted: Set[int]) -> None:
        """store : empty, of the pictures' full size; wanted : indices"""
        self._store, self._wanted, self._places = store, wanted, dict[int, int]()

    @property
    def frames(self) -> Set[int]:
        """Indices of what was kept."""
        return self._places.keys()

    def __getitem__(self, index: int) -> Luma:
        return self._store[self._places[index]]

    def passing(self, pictures: Iterable[OnePicture], width: int) -> Iterator[tuple[int, Luma]]:
        """(index, luma of `width`) of every picture; what is wanted of it at full size is kept."""
        most = MOST_LARGE // (self._store.size[0] * self._store.size[1])
        for picture in pictures:
            if picture.index in self._wanted and len(self._places) < most:
                self._places[picture.index] = len(self._places)
                self._store.add(picture.luma(self._store.size[0]))
            yield picture.index, picture.luma(width)
