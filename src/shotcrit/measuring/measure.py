"""Measure one medium: media to readings to findings, with every reading remembered in the cache."""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import run_checks
from shotcrit.errors import ReadingError, Stopped
from shotcrit.measuring.acting import acting_of
from shotcrit.measuring.assumed import assumed_of
from shotcrit.measuring.attempts import Attempts
from shotcrit.measuring.kept import keep_measured
from shotcrit.measuring.listening import SoundWork, read_elsewhere, worth_it
from shotcrit.measuring.request import MeasureRequest
from shotcrit.measuring.settled import counted_frames, settled
from shotcrit.media import Movie, open_movie
from shotcrit.media.passes import rows_of_pass
from shotcrit.media.proxy import PROXY_VERSION, ProxyWriter, proxy_of
from shotcrit.progress import Progress, Quiet, Shared
from shotcrit.readings import sound as sounds
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings
from shotcrit.readings.picture.marks.follow import Tell
from shotcrit.readings.picture.reading import picture_readings, readers_here
from shotcrit.store.cache import Cache, MediumCache, open_cache


@dataclass(frozen=True)
class Workbench:
    """What measuring works with: the cache, who watches, and the playhead that work should go round."""

    cache: Cache = field(default_factory=open_cache)
    progress: Progress = field(default_factory=Quiet)
    around: Callable[[], int] | None = None
    proxy: bool = True
    """Make the room's pictures in the same pass."""
    tell: Tell | None = None
    """Is given the tracks of marks as they are followed."""
    fresh: bool = False
    """Read the sound again even if it was read before."""


def open_medium(request: MeasureRequest, progress: Progress | None = None) -> Movie:
    """The request's medium. Raises MediaError or InputError, one sentence."""
    return open_movie(request.movie, rate=request.rate, first_frame=request.first_frame, sound=request.sound, progress=progress)


def measure(request: MeasureRequest, bench: Workbench | None = None, *, movie: Movie | None = None) -> Measured:
    """Measure the request's medium.

    Raises ShotcritError for bad input, Stopped when `bench.progress` says so; what was finished by then is kept and found again.
    """
    work = bench or Workbench()
    medium = movie or open_medium(request, work.progress)
    request = settled(request, medium.info)
    counts = counted_frames(request, medium.info)
    kept = work.cache.medium(medium.info.sha256)
    readings = Readings(movie=medium.info, clock=medium.clock, medium=request.medium, counts=counts, cast=request.cast)
    attempts = Attempts()
    sound, picture = _both(request, medium, kept, work, attempts)
    readings = replace(readings, sound=sound, picture=picture, assumed=assumed_of(request, medium.info))
    readings = acting_of(readings, request, medium, kept, work.progress, attempts, tell=work.tell)
    readings = replace(readings, broken=tuple(attempts.broken))
    measured = Measured(readings, *run_checks(readings, request.limits))
    if not attempts.broken:
        keep_measured(kept, request, medium.info.sha256, measured)
    work.cache.trim([medium.info.sha256])
    return measured


def sound_key(request: MeasureRequest, movie: Movie) -> str:
    """Names a sound reading in the cache: the lines, and the clock that the wave is cut by."""
    return f"sound-{request.said_key}-{movie.info.rate.numerator}-{movie.info.rate.denominator}-{len(movie.clock)}"


def _both(
    request: MeasureRequest, movie: Movie, kept: MediumCache, bench: Workbench, attempts: Attempts
) -> tuple[SoundReadings | None, PictureReadings | None]:
    """The sound beside the pictures where that is faster; when one stops or fails, so does the other at its next step."""
    sound = _Sound(request, movie, kept, bench)
    known = sound.known()
    if known is not None or not worth_it(movie):
        heard_here = known or attempts.part("sound", sound.read_here)
        return heard_here, attempts.part("pictures", lambda: _picture(movie, kept, bench))
    watch = Shared(bench.progress)
    try:
        with ThreadPoolExecutor(1, thread_name_prefix="sound") as beside:
            heard = beside.submit(watch.run, lambda: attempts.part("sound", lambda: read_elsewhere(sound.work, watch)))
            picture = watch.run(lambda: attempts.part("pictures", lambda: _picture(movie, kept, replace(bench, progress=watch))))
            data = heard.result()
    except Stopped as stopped:
        raise watch.failure or stopped from None
    if data or attempts.failed("sound"):
        return sound.keep(data) if data else None, picture
    return attempts.part("sound", sound.read_here), picture


@dataclass(frozen=True)
class _Sound:
    """A sound reading, as the cache knows it."""

    request: MeasureRequest
    movie: Movie
    kept: MediumCache
    bench: Workbench

    @property
    def work(self) -> SoundWork:
        return SoundWork(self.movie, self.request.lines, self.request.track)

    @property
    def _name(self) -> tuple[str, int]:
        return sound_key(self.request, self.movie), int(sounds.VERSION)

    def known(self) -> SoundReadings | None:
        """From the cache, or None."""
        stored = None if self.bench.fresh or self.movie.info.sound is None else self.kept.get(*self._name)
        if stored is None:
            return None
        try:
            return sounds.sound_from_json(json.loads(stored))
        except (ReadingError, ValueError):
            self.kept.drop(*self._name)
            return None

    def read_here(self) -> SoundReadings | None:
        """Read it now, in this process; None where there is none."""
        if self.movie.info.sound is None:
            return None
        self.bench.progress.step("reading the sound", 0, None)
        return self.keep(self.work.read(self.bench.progress))

    def keep(self, data: bytes) -> SoundReadings:
        """Keep a reading in the cache, and take it apart."""
        self.kept.put(*self._name, data)
        return sounds.sound_from_json(json.loads(data))


def _picture(movie: Movie, kept: MediumCache, bench: Workbench) -> PictureReadings | None:
    if movie.info.width is None:
        return None
    sinks = [ProxyWriter(proxy_of(movie, kept.files("proxy", PROXY_VERSION)))] if bench.proxy else []
    with rows_of_pass(movie, readers_here(), sinks=sinks, blocks=kept, progress=bench.progress, around=bench.around) as rows:
        return picture_readings(rows, movie.clock, movie.info)
