"""The proxy: one JPEG a frame and one FLAC, all that the room needs to show a movie exactly in any browser."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from threading import local

from shotcrit.errors import MediaError
from shotcrit.media.jpeg import jpeg
from shotcrit.media.movie import Movie
from shotcrit.media.picture import Picture
from shotcrit.media.sealed import read_sealed, sealed
from shotcrit.media.whole import write_whole
from shotcrit.progress import Progress, Quiet

PROXY_VERSION = 2
PROXY_WIDTH = 1280
"""px; the room shows the picture at about half of a 2560 px screen, and full width on demand."""
PROXY_QUALITY = 82
"""JPEG quality; on the edge of seeing the difference at 1280 px (measured for the room: q72 is 42 dB PSNR-Y, q90 doubles the size)."""
STILL_QUALITY = 92
CHUNK = 24
"""Frames made in one go around the playhead: a second, so that a jump of the playhead is answered soon."""
_WAITING = 6
"""Pictures that may wait for the encoder, each held in memory at full size."""


@dataclass(frozen=True)
class Proxy:
    """Where the pictures of a proxy lie. A picture that exists is whole."""

    folder: Path
    frames: int
    width: int
    _seen: set[int] = field(default_factory=set, compare=False)

    def path(self, index: int) -> Path:
        return self.folder / f"{index:06d}.jpg"

    def has(self, index: int) -> bool:
        if index not in self._seen and self.path(index).is_file():
            self._seen.add(index)
        return index in self._seen

    def read(self, index: int) -> bytes | None:
        """The picture as JPEG; None where it is not made, or was damaged: then it is lacking from now on."""
        data = read_sealed(self.path(index))
        if data is None:
            self._seen.discard(index)
        return data

    def complete(self) -> bool:
        return all(self.has(i) for i in range(self.frames))


def proxy_of(movie: Movie, folder: Path) -> Proxy:
    """The proxy of a movie in `folder`, made or not."""
    return Proxy(folder, len(movie.clock) if movie.info.width else 0, min(PROXY_WIDTH, movie.info.width or PROXY_WIDTH))


class ProxyWriter:
    """Makes proxy pictures in a pass (passes.Sink). Converting and encoding run on a thread of their own."""

    def __init__(self, proxy: Proxy) -> None:
        self.proxy = proxy
        self._encoder = ThreadPoolExecutor(1, thread_name_prefix="proxy")
        self._waiting: list[Future[None]] = []
        self._own = local()

    def lacks(self, index: int) -> bool:
        return not self.proxy.has(index)

    def feed(self, picture: Picture) -> None:
        while len(self._waiting) >= _WAITING:
            self._waiting.pop(0).result()
        self._waiting.append(self._encoder.submit(self._make, picture))

    def flush(self) -> None:
        while self._waiting:
            self._waiting.pop(0).result()

    def close(self) -> None:
        self._encoder.shutdown(wait=True, cancel_futures=True)

    def _make(self, picture: Picture) -> None:
        converter = getattr(self._own, "converter", None) or picture.own_converter()
        self._own.converter = converter
        write_whole(self.proxy.path(picture.index), sealed(jpeg(picture.using(converter).bgr(self.proxy.width), PROXY_QUALITY)))


def build_proxy(movie: Movie, folder: Path, *, around: Callable[[], int] | None = None, progress: Progress | None = None) -> Proxy:
    """Make every picture that the proxy lacks, nearest to `around()` first (asked again every CHUNK frames), else from the start.

    Raises Stopped with what was made kept, MediaError when the disk is full.
    """
    proxy, watch = proxy_of(movie, folder), progress or Quiet()
    writer = ProxyWriter(proxy)
    chunks = [range(at, min(at + CHUNK, proxy.frames)) for at in range(0, proxy.frames, CHUNK)]
    left = [c for c in chunks if any(writer.lacks(i) for i in c)]
    done, total = 0, sum(len(c) for c in left)
    try:
        while left:
            at = around() if around else 0
            chunk = min(left, key=lambda c: max(c.start - at, at - c.stop + 1, 0))
            left.remove(chunk)
            for picture in movie.pictures(chunk.start, chunk.stop):
                if writer.lacks(picture.index):
                    writer.feed(picture)
                done += 1
                watch.step("making pictures for the room", done, total)
            writer.flush()
    finally:
        writer.close()
    return proxy


def still(movie: Movie, index: int, *, width: int | None = None) -> bytes:
    """Picture `index` as JPEG, at full width when `width` is None. Raises MediaError when there is no such picture."""
    for picture in movie.pictures(index, index + 1):
        wide = movie.info.width if width is None else width
        return jpeg(picture.bgr(wide), STILL_QUALITY)
    raise MediaError(f"{movie.info.path} has no picture {index + movie.info.first_frame}; it has {len(movie.clock)}")
