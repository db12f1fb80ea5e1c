"""The desk on this computer, as far as the room needs it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock, parse_rate
from shotcrit.crit.review import Review
from shotcrit.crit.things import Take
from shotcrit.desk.deliveries import DELIVERIES, send_measured
from shotcrit.desk.measure import Bench, measure, remembered
from shotcrit.desk.request import MeasureRequest, said_from_text
from shotcrit.errors import InputError, MediaError
from shotcrit.media import Movie, MovieInfo, open_movie
from shotcrit.media.proxy import PROXY_VERSION, build_proxy, still
from shotcrit.media.proxy_sound import write_proxy_sound
from shotcrit.progress import Progress
from shotcrit.room.port import DeliveryKind
from shotcrit.store.cache import Cache, open_cache

OPEN_MOVIES = 4
"""Movies whose tables are kept in mind."""
CLOCK = ("clock", 1)
"""Name and version of a frame clock in the cache."""


@lru_cache(maxsize=OPEN_MOVIES)
def _opened(path: str, sha256: str, first_frame: int, rate: Fraction | None) -> Movie:
    movie = open_movie(Path(path), first_frame=first_frame, rate=rate)
    if movie.info.sha256 != sha256:
        raise MediaError(f"{path} is another file than the one reviewed; point the room to the right one")
    return movie


@dataclass(frozen=True)
class LocalDesk:
    """cache : folder of what can be made again; None = the user's cache folder."""

    cache: Path | None = None

    def _cache(self) -> Cache:
        return open_cache(root=self.cache)

    def look_at(self, path: Path, *, first_frame: int = 1) -> tuple[MovieInfo, FrameClock]:
        movie = open_movie(path, first_frame=first_frame)
        return movie.info, movie.clock

    def clock(self, take: Take) -> FrameClock:
        """From the cache where it is known: opening a long movie takes seconds, and the first picture should not wait for it."""
        kept = self._cache().medium(take.sha256)
        stored = kept.get(*CLOCK)
        if stored is not None:
            rows = json.loads(stored)
            return FrameClock(tuple(Fraction(edge) for edge in rows["edges"]), Fraction(rows["rate"]))
        clock = self._movie(take).clock
        kept.put(*CLOCK, json.dumps({"edges": [str(edge) for edge in clock.edges], "rate": str(clock.rate)}).encode())
        return clock

    def _movie(self, take: Take) -> Movie:
        rate = None if take.width and not _is_run(take) else parse_rate(take.rate)
        return _opened(take.path, take.sha256, take.first_frame, rate)

    def _request(self, take: Take, limits: Mapping[str, float]) -> MeasureRequest:
        lines, key = said_from_text(take.lines)
        return MeasureRequest(
            movie=Path(take.path),
            lines=lines,
            said_key=key,
            cast=take.cast if take.cast.marked else None,
            scene=Path(take.scene) if take.scene else None,
            first_frame=take.first_frame,
            medium=take.medium,
            limits=limits,
        )

    def remembered(self, take: Take, limits: Mapping[str, float]) -> Measured | None:
        return remembered(self._request(take, limits), Bench(cache=self._cache(), proxy=False))

    def measure(self, take: Take, limits: Mapping[str, float], around: Callable[[], int], progress: Progress) -> Measured:
        bench = Bench(cache=self._cache(), progress=progress, around=around, proxy=True)
        return measure(self._request(take, limits), bench, movie=self._movie(take))

    def frames_folder(self, take: Take) -> Path:
        return self._cache().medium(take.sha256).files("proxy", PROXY_VERSION)

    def frame_name(self, index: int) -> str:
        return f"{index:06d}.jpg"

    def build_frames(self, take: Take, around: Callable[[], int], progress: Progress) -> None:
        build_proxy(self._movie(take), self.frames_folder(take), around=around, progress=progress)

    def wide_frame(self, take: Take, index: int, width: int) -> bytes:
        movie = self._movie(take)
        return still(movie, index, width=min(width, movie.info.width or width))

    def sound_file(self, take: Take) -> Path:
        path = self.frames_folder(take) / "sound.flac"
        if not path.exists():
            sound = self._movie(take).sound()
            if sound is None:
                raise InputError(f"{take.path} has no sound")
            write_proxy_sound(sound, path)
        return path

    def frame_map(self, old: Take, new: Take) -> Sequence[int | None]:
        """By number, until two takes are lined up by what they show."""
        return [frame if frame < new.frames else None for frame in range(old.frames)]

    def deliveries(self) -> Sequence[DeliveryKind]:
        return [DeliveryKind(d.name, d.ending, d.help) for d in DELIVERIES]

    def send(self, review: Review, measured: Measured | None, kinds: Sequence[str], to: Path, progress: Progress) -> Sequence[Path]:
        if measured is None:
            raise InputError("this take is not measured yet, so there is nothing to send but the crit; measure it first")
        movie = self._movie(review.take)
        return send_measured(measured, movie, to, names=kinds or None, cache=self._cache(), progress=progress)


def _is_run(take: Take) -> bool:
    return any(sign in Path(take.path).name for sign in "#%") or Path(take.path).is_dir()
