"""One decoding pass for every picture reading and the proxy. Memory does not grow with the movie's length.

A reader is started anew for every block of frames and shown the WARMUP pictures before it, so what it says of a frame depends on
those and the block alone: a pass that was stopped and resumed gives, by construction, what an unbroken one gives.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from shotcrit.errors import ReadingError
from shotcrit.media.ahead import ahead
from shotcrit.media.blocks import BlockStore, FloatArray, RememberedBlocks, Rows, SpooledBlocks, StoredRows, block_count, block_frames
from shotcrit.media.info import MovieInfo
from shotcrit.media.movie import Movie
from shotcrit.media.picture import Picture
from shotcrit.progress import Progress, Quiet

LONGEST_WARMUP = 48
"""Pictures; each is kept in memory at full size."""
_AHEAD = 3
"""Pictures decoded in advance of the one that is read; enough to keep both cores busy, few enough to stay small (measured)."""


class Reader(Protocol):
    """Measures every picture. NAME and VERSION name the result in the cache; raise VERSION when the numbers change.

    WARMUP : pictures needed before the first one measured (1 when each is compared with the one before), LONGEST_WARMUP at most
    COLUMNS : what the numbers of a row are, for people
    """

    NAME: str
    VERSION: int
    WARMUP: int
    COLUMNS: tuple[str, ...]

    def start(self, info: MovieInfo) -> None:
        """Forget everything: a new block begins. The next pictures are the warm-up (fewer at the start of the movie)."""
        ...

    def feed(self, picture: Picture) -> FloatArray | None:
        """The row of this picture, always the same shape; None in the warm-up, or where nothing can be measured (kept as nan)."""
        ...


class Sink(Protocol):
    """Takes pictures and keeps what it makes of them itself, as the proxy does."""

    def lacks(self, index: int) -> bool:
        """Whether picture `index` is still wanted."""
        ...

    def feed(self, picture: Picture) -> None: ...

    def flush(self) -> None:
        """Return when all that was fed is kept; raise what went wrong."""
        ...

    def close(self) -> None:
        """End without waiting; whatever is unfinished is dropped."""
        ...


@dataclass(frozen=True)
class _Job:
    """One block, and who still lacks it."""

    block: int
    frames: range
    readers: tuple[Reader, ...]
    sinks: tuple[Sink, ...]

    @property
    def warmup(self) -> int:
        return max((r.WARMUP for r in self.readers), default=0)


@contextmanager
def rows_of_pass(
    movie: Movie,
    readers: Sequence[Reader],
    *,
    sinks: Sequence[Sink] = (),
    blocks: BlockStore | None = None,
    progress: Progress | None = None,
    around: Callable[[], int] | None = None,
) -> Iterator[dict[str, Rows]]:
    """Show every picture once to all readers and sinks that lack it; then rows by reader name, nan where a picture could not be measured or decoded.

    blocks : where finished blocks are kept and looked for; nowhere when None. The rows themselves lie in a file that vanishes at the end.
    around : tells the frame index to work outward from, asked again before each block (the playhead); None = from the start
    Raises Stopped (from progress) with all finished blocks kept, ReadingError when a reader breaks its word.
    """
    _check(readers)
    with SpooledBlocks() as front:
        kept = front if blocks is None else RememberedBlocks(blocks, front)
        try:
            _work(movie, _jobs(movie, readers, sinks, kept), kept, progress or Quiet(), around)
        finally:
            for sink in sinks:
                sink.close()
        yield {r.NAME: _rows_of(r, len(movie.clock), kept, movie) for r in readers}


def _work(movie: Movie, jobs: list[_Job], kept: BlockStore, watch: Progress, around: Callable[[], int] | None) -> None:
    total, done = sum(len(job.frames) for job in jobs), 0
    for run in _runs(jobs, around):
        for job, rows in _read(movie, run):
            done += 1
            watch.step("reading pictures", done, total)
            if rows is not None:
                for sink in job.sinks:
                    sink.flush()
                for name, version, block in rows:
                    kept.save(name, version, job.block, block)


def _check(readers: Sequence[Reader]) -> None:
    names = [r.NAME for r in readers]
    if len(set(names)) != len(names):
        raise ReadingError(f"two picture readings are called alike: {', '.join(sorted(names))}")
    for r in readers:
        if not 0 <= r.WARMUP <= LONGEST_WARMUP:
            raise ReadingError(f"reading {r.NAME} wants {r.WARMUP} pictures of warm-up; {LONGEST_WARMUP} is the most")


def _jobs(movie: Movie, readers: Sequence[Reader], sinks: Sequence[Sink], kept: BlockStore) -> list[_Job]:
    if movie.info.width is None:
        return []
    jobs = []
    for block in range(block_count(len(movie.clock))):
        frames = block_frames(block, len(movie.clock))
        lacking = tuple(r for r in readers if _stored(r, block, frames, kept) is None)
        hungry = tuple(s for s in sinks if any(s.lacks(i) for i in frames))
        if lacking or hungry:
            jobs.append(_Job(block, frames, lacking, hungry))
    return jobs


def _stored(reader: Reader, block: int, frames: range, kept: BlockStore) -> FloatArray | None:
    rows = kept.load(reader.NAME, reader.VERSION, block)
    return rows if rows is not None and rows.dtype == np.float32 and rows.ndim >= 1 and len(rows) == len(frames) else None


def _runs(jobs: list[_Job], around: Callable[[], int] | None) -> Iterator[list[_Job]]:
    """Neighbouring jobs that one stream can serve; with a playhead one job at a time, the nearest first."""
    left = list(jobs)
    while left:
        if around is not None:
            at = around()
            nearest = min(left, key=lambda j: max(j.frames.start - at, at - j.frames.stop + 1, 0))
            left.remove(nearest)
            yield [nearest]
            continue
        run = [left.pop(0)]
        while left and left[0].block == run[-1].block + 1:
            run.append(left.pop(0))
        yield run


_Rows = list[tuple[str, int, FloatArray]]


def _read(movie: Movie, run: list[_Job]) -> Iterator[tuple[_Job, _Rows | None]]:
    """Once for every picture measured; with the last of a block come its rows."""
    deepest = max(job.warmup for job in run)
    begin = max(0, run[0].frames.start - run[0].warmup)
    recent: deque[Picture] = deque(maxlen=deepest) if deepest else deque(maxlen=1)
    with closing(ahead(movie.pictures(begin, run[-1].frames.stop), _AHEAD)) as pictures:
        for _ in range(begin, run[0].frames.start):
            recent.append(next(pictures))
        for job in run:
            table: list[list[FloatArray | None]] = [[] for _ in job.readers]
            for reader in job.readers:
                _warm(reader, movie.info, recent)
            for index in job.frames:
                picture = next(pictures)
                _feed(job, picture, table)
                recent.append(picture)
                if index < job.frames[-1]:
                    yield job, None
            yield job, [(r.NAME, r.VERSION, _block(r, rows)) for r, rows in zip(job.readers, table, strict=True)]


def _warm(reader: Reader, info: MovieInfo, recent: deque[Picture]) -> None:
    reader.start(info)
    for picture in list(recent)[len(recent) - min(reader.WARMUP, len(recent)) :]:
        reader.feed(picture)


def _feed(job: _Job, picture: Picture, table: list[list[FloatArray | None]]) -> None:
    for sink in job.sinks:
        if sink.lacks(picture.index):
            sink.feed(picture)
    for reader, rows in zip(job.readers, table, strict=True):
        row = reader.feed(picture)
        if row is not None:
            row = np.array(row, dtype=np.float32)
            if picture.damaged:
                row[...] = np.nan
        rows.append(row)


def _block(reader: Reader, rows: list[FloatArray | None]) -> FloatArray:
    shapes = {row.shape for row in rows if row is not None}
    if len(shapes) > 1:
        raise ReadingError(f"reading {reader.NAME} gave rows of different shapes: {sorted(shapes)}")
    shape = shapes.pop() if shapes else (len(reader.COLUMNS),)
    empty = np.full(shape, np.nan, np.float32)
    return np.stack([empty if row is None else row for row in rows])


def _rows_of(reader: Reader, frames: int, kept: BlockStore, movie: Movie) -> Rows:
    if movie.info.width is None:
        return np.zeros((0, len(reader.COLUMNS)), np.float32)
    if any(_stored(reader, b, block_frames(b, frames), kept) is None for b in range(block_count(frames))):
        raise ReadingError(f"finished blocks of reading {reader.NAME} went missing while it ran; run it again")
    return StoredRows(kept, reader.NAME, reader.VERSION, frames)
