"""Measure one medium: media to readings to findings, with every reading remembered in the cache."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import run_checks
from shotcrit.desk.acting import acting_of
from shotcrit.desk.request import MeasureRequest
from shotcrit.errors import ReadingError
from shotcrit.media import Movie, open_movie
from shotcrit.media.passes import run_pass
from shotcrit.media.proxy import PROXY_VERSION, ProxyWriter, proxy_of
from shotcrit.progress import Progress, Quiet
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings
from shotcrit.readings.picture.reading import PICTURE_READERS, picture_readings
from shotcrit.readings.sound.reading import VERSION as SOUND_VERSION
from shotcrit.readings.sound.reading import read_sound
from shotcrit.readings.sound.stored import sound_from_json, sound_to_json
from shotcrit.store.cache import Cache, MediumCache, open_cache


@dataclass(frozen=True)
class Bench:
    """What measuring works with: the cache, who watches, and the playhead that work should go round."""

    cache: Cache = field(default_factory=open_cache)
    progress: Progress = field(default_factory=Quiet)
    around: Callable[[], int] | None = None
    proxy: bool = True
    """Make the room's pictures in the same pass."""
    fresh: bool = False
    """Read the sound again even if it was read before."""


def open_medium(request: MeasureRequest, progress: Progress | None = None) -> Movie:
    """The request's medium. Raises MediaError or InputError, one sentence."""
    return open_movie(request.movie, rate=request.rate, first_frame=request.first_frame, sound=request.sound, progress=progress)


def measure(request: MeasureRequest, bench: Bench | None = None, *, movie: Movie | None = None) -> Measured:
    """Measure the request's medium.

    Raises ShotcritError for bad input, Stopped when `bench.progress` says so; what was finished by then is kept and found again.
    """
    work = bench or Bench()
    medium = movie or open_medium(request, work.progress)
    kept = work.cache.medium(medium.info.sha256)
    readings = Readings(movie=medium.info, clock=medium.clock, medium=request.medium, cast=request.cast)
    readings = replace(readings, sound=_sound(request, medium, kept, work), picture=_picture(medium, kept, work))
    readings = acting_of(readings, request, medium, kept, work.progress)
    findings, missing = run_checks(readings, request.limits)
    work.cache.trim([medium.info.sha256])
    return Measured(readings, findings, missing)


def remembered(request: MeasureRequest, bench: Bench | None = None, *, movie: Movie | None = None) -> Measured | None:
    """The measurement, if every reading that it needs is in the cache; None else. Never works long."""
    work = bench or Bench()
    try:
        return measure(request, replace(work, progress=_Nothing(), proxy=False), movie=movie or open_medium(request))
    except _WouldWork:
        return None


class _WouldWork(Exception):
    """Something is not in the cache."""


class _Nothing:
    """Progress for looking things up only: the first step of real work ends it."""

    def step(self, stage: str, done: float, total: float | None) -> None:
        raise _WouldWork(stage)


def sound_key(request: MeasureRequest, movie: Movie) -> str:
    """Names a sound reading in the cache: the lines, and the clock that the wave is cut by."""
    return f"sound-{request.said_key}-{movie.info.rate.numerator}-{movie.info.rate.denominator}-{len(movie.clock)}"


def _sound(request: MeasureRequest, movie: Movie, kept: MediumCache, bench: Bench) -> SoundReadings | None:
    if movie.info.sound is None:
        return None
    name, version = sound_key(request, movie), int(SOUND_VERSION)
    stored = None if bench.fresh else kept.get(name, version)
    if stored is not None:
        try:
            return sound_from_json(json.loads(stored))
        except (ReadingError, ValueError):
            kept.drop(name, version)
    bench.progress.step("reading the sound", 0, None)
    sound = movie.sound()
    if sound is None:
        return None
    found = read_sound(sound, movie.clock, request.lines, track=request.track, progress=bench.progress)
    kept.put(name, version, json.dumps(sound_to_json(found)).encode())
    return found


def _picture(movie: Movie, kept: MediumCache, bench: Bench) -> PictureReadings | None:
    if movie.info.width is None:
        return None
    sinks = [ProxyWriter(proxy_of(movie, kept.files("proxy", PROXY_VERSION)))] if bench.proxy else []
    rows = run_pass(movie, [reader() for reader in PICTURE_READERS], sinks=sinks, blocks=kept, progress=bench.progress, around=bench.around)
    return picture_readings(rows, movie.clock, movie.info)
