"""The desk as the room uses it: the same wiring, asked by take instead of by file. Picklable, since long calls run in processes of their own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock
from shotcrit.crit.things import Take
from shotcrit.desk.measure import Bench, measure, remembered
from shotcrit.desk.request import MeasureRequest, said_from_text
from shotcrit.errors import InputError, MediaError
from shotcrit.media import Movie, MovieInfo, open_movie
from shotcrit.media.proxy import PROXY_VERSION, build_proxy, still
from shotcrit.media.proxy_sound import write_proxy_sound
from shotcrit.progress import Progress
from shotcrit.store.cache import Cache, open_cache

OPEN_MOVIES = 4
"""Movies whose frame tables are kept in mind."""
SOUND_NAME = "sound.flac"


@lru_cache(maxsize=OPEN_MOVIES)
def _opened(path: str, sha256: str, first_frame: int, rate: Fraction | None) -> Movie:
    movie = open_movie(Path(path), first_frame=first_frame, rate=rate)
    if movie.info.sha256 != sha256:
        raise MediaError(f"{path} is another file than the one reviewed; point the room to the right one")
    return movie


def _rate(take: Take) -> Fraction | None:
    """Only what has no rate of its own (a sound, a sequence) is opened at the take's."""
    has_own = take.width is not None and not any(sign in take.path for sign in "#%")
    return None if has_own else Fraction(take.rate)


def take_request(take: Take, limits: Mapping[str, float]) -> MeasureRequest:
    """What measuring a take means. Raises InputError for lines that cannot be read."""
    lines, key = said_from_text(take.lines)
    empty = not (take.cast.characters or take.cast.props or take.cast.looks)
    return MeasureRequest(
        movie=Path(take.path),
        lines=lines,
        said_key=key,
        cast=None if empty else take.cast,
        scene=Path(take.scene) if take.scene else None,
        rate=_rate(take),
        first_frame=take.first_frame,
        medium=take.medium,
        limits=dict(limits),
    )


@dataclass(frozen=True)
class TakeDesk:
    """cache_root : folder of what can be made again; None = the user's cache folder."""

    cache_root: Path | None = None

    @property
    def cache(self) -> Cache:
        return open_cache(root=self.cache_root)

    def look_at(self, path: Path, *, first_frame: int = 1) -> tuple[MovieInfo, FrameClock]:
        """What a medium is, without measuring it."""
        movie = open_movie(path, first_frame=first_frame)
        return movie.info, movie.clock

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        """The measurement of a take as it is now, if it was made before."""
        return remembered(take_request(take, limits), Bench(cache=self.cache), movie=self._movie(take))

    def measure(self, take: Take, limits: Mapping[str, float], *, fresh: bool, progress: Progress) -> Measured:
        """Measure a take and remember it; fresh: forget the sound's and the marks' readings first."""
        request = take_request(take, limits)
        return measure(replace(request), Bench(cache=self.cache, progress=progress, proxy=False, fresh=fresh), movie=self._movie(take))

    def frames_folder(self, take: Take) -> Path:
        """Where the pictures of a take are built."""
        return self.cache.medium(take.sha256).files("proxy", PROXY_VERSION)

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        """Build the pictures that are missing, those nearest to `around()` first, and the sound."""
        if take.sound is not None:
            self.sound_file(take)
        build_proxy(self._movie(take), self.frames_folder(take), around=around, progress=progress)

    def frame_file(self, take: Take, index: int) -> Path:
        """Where picture `index` lies once it is built."""
        return self.frames_folder(take) / f"{index:06d}.jpg"

    def wide_frame(self, take: Take, index: int, width: int) -> bytes:
        """Picture `index` as JPEG, `width` pixels wide or as wide as the movie."""
        movie = self._movie(take)
        return still(movie, index, width=min(width, movie.info.width or width))

    def sound_file(self, take: Take) -> Path:
        """The sound of a take as FLAC, made when it is not there."""
        path = self.frames_folder(take) / SOUND_NAME
        if not path.exists():
            sound = self._movie(take).sound()
            if sound is None:
                raise InputError(f"{take.path} has no sound")
            write_proxy_sound(sound, path)
        return path

    def frame_map(self, old: Take, new: Take) -> Sequence[int | None]:
        """For each frame of the old take the one of the new take at the same time, None past its end.

        Both takes are taken to run alike; a take that was retimed needs the line-up of the follow-up stage.
        """
        before, after = self._movie(old).clock, self._movie(new).clock
        return [after.frame_at(before.start(i)) if before.start(i) < after.duration else None for i in range(len(before))]

    def _movie(self, take: Take) -> Movie:
        return _opened(take.path, take.sha256, take.first_frame, _rate(take))
