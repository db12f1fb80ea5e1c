"""Pictures and sound of takes on this computer. Imports little: it is what the building process loads before the first picture."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from shotcrit.clock import FrameClock, parse_rate
from shotcrit.crit.records import Take
from shotcrit.errors import InputError, MediaError
from shotcrit.media import Movie, MovieInfo, open_movie
from shotcrit.media.picture_files import is_sequence
from shotcrit.media.proxy import PROXY_VERSION, ProxyWriter, build_proxy, proxy_of, still
from shotcrit.media.proxy_sound import write_proxy_sound
from shotcrit.media.sealed import read_sealed, remove, sealed
from shotcrit.media.whole import write_whole
from shotcrit.progress import Progress
from shotcrit.store.cache import Cache, open_cache

OPEN_MOVIES = 4
"""Movies whose tables are kept in mind."""
CLOCK = ("clock", 1)
"""Name and version of a frame clock in the cache."""


@lru_cache(maxsize=OPEN_MOVIES)
def _opened(path: str, sha256: str, first_frame: int, rate: Fraction | None, sound: str | None) -> Movie:
    movie = open_movie(Path(path), first_frame=first_frame, rate=rate, sound=Path(sound) if sound else None)
    if movie.info.sha256 != sha256:
        raise MediaError(f"{path} is another file than the one reviewed; point the room to the right one")
    return movie


@contextmanager
def _kept_in(folder: Path) -> Iterator[Path]:
    """Pictures are kept in `folder`. Raises MediaError, one sentence, when that cannot be."""
    try:
        yield folder
    except OSError as problem:
        raise MediaError(
            f"pictures cannot be kept in {folder} ({problem.strerror or problem}); make room there or allow writing, then try again"
        ) from problem


def _sum_of(path: Path) -> Path:
    """Where a sound's checksum lies: a player would stumble over one within the file."""
    return path.with_name(f"{path.name}.sum")


def _is_whole(path: Path) -> bool:
    try:
        stat = path.stat()
    except OSError:
        return False
    return _as_written(path, stat.st_size, stat.st_mtime_ns)


@lru_cache(maxsize=OPEN_MOVIES)
def _as_written(path: Path, _size: int, _modified: int) -> bool:
    """Whether a file is what was written: read again only when its size or time has changed."""
    with suppress(OSError):
        return read_sealed(_sum_of(path)) == sha256(path.read_bytes()).digest()
    return False


@dataclass(frozen=True)
class LocalPictures:
    """cache : folder of what can be made again; None = the user's cache folder."""

    cache: Path | None = None

    def kept(self) -> Cache:
        return open_cache(root=self.cache)

    def look_at(self, path: Path, *, first_frame: int | None = None, sound: Path | None = None) -> tuple[MovieInfo, FrameClock]:
        movie = open_movie(path, first_frame=first_frame, sound=sound)
        return movie.info, movie.clock

    def movie(self, take: Take) -> Movie:
        rate = None if take.width and not is_sequence(Path(take.path)) else parse_rate(take.rate)
        return _opened(take.path, take.sha256, take.first_frame, rate, take.sound_path)

    def clock(self, take: Take) -> FrameClock:
        """From the cache where it is known: opening a long movie takes seconds, and the first picture should not wait for it."""
        kept = self.kept().medium(take.sha256)
        stored = kept.get(*CLOCK)
        if stored is not None:
            rows = json.loads(stored)
            return FrameClock(tuple(Fraction(edge) for edge in rows["edges"]), Fraction(rows["rate"]))
        clock = self.movie(take).clock
        kept.put(*CLOCK, json.dumps({"edges": [str(edge) for edge in clock.edges], "rate": str(clock.rate)}).encode())
        return clock

    def frames_folder(self, take: Take) -> Path:
        return self.kept().medium(take.sha256).files("proxy", PROXY_VERSION)

    def frame_name(self, index: int) -> str:
        return f"{index:06d}.jpg"

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        with _kept_in(self.frames_folder(take)) as folder:
            build_proxy(self.movie(take), folder, around=around, progress=progress)

    def make_frames(self, take: Take, first: int, last: int) -> None:
        movie = self.movie(take)
        with _kept_in(self.frames_folder(take)) as folder:
            writer = ProxyWriter(proxy_of(movie, folder))
            try:
                for picture in movie.pictures(first, last + 1):
                    if writer.lacks(picture.index):
                        writer.feed(picture)
                writer.flush()
            finally:
                writer.close()

    def wide_frame(self, take: Take, index: int, width: int) -> bytes:
        movie = self.movie(take)
        return still(movie, index, width=min(width, movie.info.width or width))

    def sound_file(self, take: Take) -> Path:
        path = self.frames_folder(take) / "sound.flac"
        if not _is_whole(path):
            sound = self.movie(take).sound()
            if sound is None:
                raise InputError(f"{take.path} has no sound")
            remove(path)
            write_proxy_sound(sound, path)
            write_whole(_sum_of(path), sealed(sha256(path.read_bytes()).digest()))
        return path
