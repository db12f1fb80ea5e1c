"""Pictures from a run of files: PNG, JPEG, TIFF, EXR."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import av.error

from shotcrit.clock import FrameClock
from shotcrit.errors import MediaError
from shotcrit.media.container import MOST_PIXELS, check_file, check_size
from shotcrit.media.picture_files import Run, gaps_sentence
from shotcrit.media.shape import Shape, shape_of
from shotcrit.media.source import Stored

_BY_START = ((b"\x89PNG", "png"), (b"\xff\xd8\xff", "mjpeg"), (b"II*\0", "tiff"), (b"MM\0*", "tiff"), (b"\x76\x2f\x31\x01", "exr"))
_NAMES = {"mjpeg": "jpeg"}
_UNDECODABLE = (av.error.FFmpegError, ValueError, MemoryError)
_CORES = min(os.cpu_count() or 1, 8)
"""Picture files decoded at once; each may take 100 MB."""
_LARGEST_FILE = 1 << 29
"""Bytes of one picture file; an uncompressed 8K picture in 32-bit float is 530 MB. Guess."""


@dataclass(frozen=True)
class Sequence:
    """A run of picture files. See PictureSource."""

    run: Run
    clock: FrameClock
    shape: Shape
    codec: str
    decoder: str
    remarks: tuple[str, ...]
    variable_rate: bool = False
    begins_s: Fraction = Fraction(0)
    timecode: str | None = None
    ended_early: str | None = None

    def frames(self, start: int, stop: int) -> Iterator[Stored]:
        """Pictures start .. stop-1; a file that is missing or cannot be decoded is the one before it again, marked damaged."""
        last = self._last_good_before(start)
        expected = start
        for frame in self._decoded(range(start, stop)):
            index = frame.pts
            for lost in range(expected, index):
                yield Stored(lost, frame if last is None else last, True)
            yield Stored(index, frame)
            last, expected = frame, index + 1
        if last is None:
            raise MediaError(
                f"not one picture of {self.run.folder / self.run.label} can be decoded any more; see if the files are still there"
            )
        for lost in range(expected, stop):
            yield Stored(lost, last, True)

    def _last_good_before(self, start: int) -> Any | None:
        """What stands in when `start` itself is missing; looked for only then."""
        if self.run.first + start in self.run.files:
            return None
        for index in range(start - 1, -1, -1):
            for frame in self._decoded(range(index, index + 1)):
                return frame
        return None

    def _decoded(self, wanted: range) -> Iterator[Any]:
        """Frames of the files that can be decoded, pts = index: each by a decoder of its own, on all cores, some in advance.

        FFmpeg's own threads hand pictures from one to the next, and a damaged PNG can leave them waiting for one another for ever (measured).
        """
        if len(wanted) == 1:
            yield from self._alone(wanted[0])
            return
        with ThreadPoolExecutor(_CORES, thread_name_prefix="picture files") as pool:
            waiting: deque[Future[list[Any]]] = deque()
            try:
                for index in wanted:
                    waiting.append(pool.submit(self._alone, index))
                    if len(waiting) > _CORES:
                        yield from waiting.popleft().result()
                while waiting:
                    yield from waiting.popleft().result()
            finally:
                for one in waiting:
                    one.cancel()

    def _alone(self, index: int) -> list[Any]:
        return _alone(_decoder(self.decoder), self._packet(index))[:1]

    def _packet(self, index: int) -> Any:
        file = self.run.files.get(self.run.first + index)
        return None if file is None else _packet(file, index)


def open_sequence(run: Run, rate: Fraction) -> Sequence:
    """Raises MediaError when the first picture cannot be read, or the sizes are too large."""
    first = run.files[run.first]
    check_file(first)
    name = _kind(first)
    context = _decoder(name)
    packet = _packet(first, 0)
    frame = next(iter(_alone(context, packet)), None)
    if frame is None:
        if context.width and context.height:
            check_size(first, context.width, context.height)
        raise MediaError(f"{first} cannot be decoded; it is damaged or of an unknown kind, render it again")
    sar = context.sample_aspect_ratio
    shape = shape_of(frame, Fraction(sar.numerator, sar.denominator) if sar and name != "tiff" else None)
    check_size(first, shape.width, shape.height)
    sentence = gaps_sentence(run)
    clock = FrameClock.steady(rate, run.last - run.first + 1)
    return Sequence(run, clock, shape, _NAMES.get(name, name), name, (sentence,) if sentence else ())


def _kind(file: Path) -> str:
    with file.open("rb") as opened:
        head = opened.read(8)
    for start, name in _BY_START:
        if head.startswith(start):
            return name
    raise MediaError(f"{file} is no PNG, JPEG, TIFF or EXR picture, whatever its name says; name the pictures themselves")


def _decoder(name: str) -> Any:
    context = av.CodecContext.create(name, "r")
    context.thread_count = 1
    context.options = {"max_pixels": str(MOST_PIXELS)}
    return context


def _packet(file: Path, index: int) -> Any:
    """The file as one packet that carries its index; None when it cannot be read."""
    try:
        if not file.is_file() or file.stat().st_size > _LARGEST_FILE:
            return None
        packet = av.Packet(file.read_bytes())
    except (OSError, ValueError, MemoryError):
        return None
    packet.pts = packet.dts = index
    packet.is_keyframe = True  # FFmpeg adds a PNG that is no key frame to the one before it
    packet.time_base = Fraction(1)
    return packet


def _alone(context: Any, packet: Any) -> list[Any]:
    """The picture in one packet, or nothing."""
    try:
        return [*context.decode(packet), *context.decode(None)] if packet is not None else []
    except _UNDECODABLE:
        return []
