"""Pictures from a movie file. Reached by integer pts: seek to a key frame, check where that landed, decode forward, check every pts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from shotcrit.clock import FrameClock
from shotcrit.clock.rates import FASTEST
from shotcrit.errors import MediaError
from shotcrit.media.container import check_size, decoded, opened, packets, stand_at, undecodable
from shotcrit.media.ending import missing_bytes
from shotcrit.media.frame_table import FrameTable, read_table, ready, without_ragged_end
from shotcrit.media.shape import Shape, shape_of
from shotcrit.media.source import Stored
from shotcrit.media.timing import clock_from_starts
from shotcrit.progress import Progress

INTERLACED = (
    "the file says that its pictures are interlaced: each holds two moments, so that what moves is combed, and movement is read less exactly; "
    "ask for whole pictures"
)
_FIRST_INTERLACED = 2
"""FFmpeg's AVFieldOrder: 0 is unknown, 1 progressive, from 2 on interlaced in one order or the other."""
SLOWEST_S = 600
"""Seconds that a movie's pictures last on the average at most; slides of a talk stay far below (guess)."""
_TRIES = 3
"""Key frames tried, ever earlier, before decoding from the start."""


@dataclass(frozen=True)
class FilmFile:
    """A movie file, already looked through. See PictureSource."""

    path: Path
    table: FrameTable
    clock: FrameClock
    variable_rate: bool
    begins_s: Fraction
    shape: Shape
    codec: str
    timecode: str | None
    ended_early: str | None
    remarks: tuple[str, ...] = ()
    _index: dict[int, int] = field(default_factory=dict)

    def frames(self, start: int, stop: int) -> Iterator[Stored]:
        """Pictures start .. stop-1. One that cannot be decoded is the one before it again, marked damaged."""
        expected, last = start, None
        for index, frame in self._decoded_from(start):
            if index >= expected:
                for lost in range(expected, min(index, stop)):
                    yield Stored(lost, frame if last is None else last, True)
                if index >= stop:
                    return
                yield Stored(index, frame)
                expected = index + 1
            last = frame
            if expected >= stop:
                return
        if last is None:
            raise MediaError(f"{self.path} could be opened but its pictures can no longer be decoded; see if its disk is gone")
        for lost in range(expected, stop):
            yield Stored(lost, last, True)

    def _decoded_from(self, start: int) -> Iterator[tuple[int, Any]]:
        """(index, frame) from some key frame at or before `start`."""
        with opened(self.path) as container:
            stream = ready(container)
            if stream is None:
                raise MediaError(f"{self.path} changed while it was read; start again")
            if self.table.timed and start > 0 and self._seek(container, stream, start):
                yield from self._by_pts(decoded(container, stream))
                return
        with opened(self.path) as container:
            frames = decoded(container, ready(container))
            yield from self._by_pts(frames) if self.table.timed else enumerate(frames)

    def _by_pts(self, frames: Iterator[Any]) -> Iterator[tuple[int, Any]]:
        for frame in frames:
            index = self._index.get(frame.pts)
            if index is not None:
                yield index, frame

    def _seek(self, container: Any, stream: Any, start: int) -> bool:
        """Stand at a key frame not after `start`; False when that cannot be had."""
        keys = [k for k in self.table.keys if 0 < k <= start][-_TRIES:]
        for key in reversed(keys):
            if not stand_at(container, stream, self.table.pts[key]):
                continue
            landed = next(packets(container, stream), None)
            if landed is not None and landed.is_keyframe and landed.pts is not None and landed.pts <= self.table.pts[start]:
                return stand_at(container, stream, self.table.pts[key])
        return False


def open_film(path: Path, progress: Progress) -> FilmFile | None:
    """The pictures of a movie file, or None when it has sound only. Raises MediaError."""
    with opened(path) as container:
        stream = ready(container, few=True)
        if stream is None:
            return None
        check_size(path, stream.codec_context.width, stream.codec_context.height)
        first = next(decoded(container, stream), None)
        if first is None:
            raise undecodable(path)
        sar = stream.sample_aspect_ratio
        shape = shape_of(first, Fraction(sar.numerator, sar.denominator) if sar else None)
        check_size(path, shape.width, shape.height)
        said = _said_rates(stream)
        odd = (INTERLACED,) if _interlaced(stream, first) else ()
        codec, timecode, promised = _codec(stream), _timecode(container), stream.frames
        lasts = Fraction(stream.duration * stream.time_base) if stream.duration and stream.time_base else None
    table = read_table(path, progress)
    broken = missing_bytes(path) > 0
    if broken:
        table = without_ragged_end(table, said[0] if said else None)
    starts = table.starts()
    clock, variable = clock_from_starts(starts, table.tick, said, last_duration=_last_duration(starts, lasts))
    _check_times(path, clock)
    begins = starts[0] if table.timed else Fraction(0)
    ended = _ended_early(path, len(table.pts), promised, clock) if broken else None
    return FilmFile(path, table, clock, variable, begins, shape, codec, timecode, ended, odd, {p: i for i, p in enumerate(table.pts)})


def _check_times(path: Path, clock: FrameClock) -> None:
    """Raises MediaError for time stamps that no movie has: everything told of such a file would be about its damage."""
    mean = clock.duration / len(clock)
    if not 1 / FASTEST <= mean <= SLOWEST_S:
        how = f"{float(mean):,.0f} s" if mean > SLOWEST_S else f"less than a {FASTEST}th of a second"
        raise MediaError(
            f"{path} says that a picture of it lasts {how}, which cannot be; its time stamps are damaged, export or copy it again"
        )


def _said_rates(stream: Any) -> list[Fraction]:
    rates = (stream.average_rate, stream.guessed_rate, stream.base_rate)
    return [Fraction(r.numerator, r.denominator) for r in rates if r]


def _interlaced(stream: Any, first: Any) -> bool:
    """Whether the file or its first picture says that each picture holds two moments."""
    return bool(first.interlaced_frame or stream.codec_context.field_order >= _FIRST_INTERLACED)


def _codec(stream: Any) -> str:
    return str(stream.codec_context.codec.canonical_name)


def _last_duration(starts: list[Fraction], lasts: Fraction | None) -> Fraction | None:
    """What the stream's own length leaves for the last picture, where that is sensible."""
    if lasts is None:
        return None
    rest = starts[0] + lasts - starts[-1]
    return rest if 0 < rest <= 10 else None


def _timecode(container: Any) -> str | None:
    for metadata in (*(s.metadata for s in container.streams), container.metadata):
        if metadata.get("timecode"):
            return str(metadata["timecode"])
    return None


def _ended_early(path: Path, frames: int, promised: int, clock: FrameClock) -> str:
    what = f"{frames} of {promised} pictures" if promised > frames else f"its first {frames} pictures, {float(clock.duration):.2f} s"
    return f"{path} stops before its own end, so only {what} were measured; copy or export it again"
