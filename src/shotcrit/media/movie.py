"""Open a movie, a sequence of pictures or a sound, and read it in a stream.

movie = open_movie(Path("lantern_040.mov"))
for picture in movie.pictures():
    grey = picture.luma(480)
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from shotcrit.clock import FrameClock
from shotcrit.clock.rates import rate_label
from shotcrit.errors import InputError, MediaError
from shotcrit.media.container import check_file
from shotcrit.media.digest import file_digest, joined_digest, run_digest
from shotcrit.media.film_file import open_film
from shotcrit.media.info import MovieInfo, Sound
from shotcrit.media.mixing import MixedSound
from shotcrit.media.picture import Converter, Picture
from shotcrit.media.picture_files import Run, find_run, is_sequence
from shotcrit.media.sequence import open_sequence
from shotcrit.media.sound import SoundSource, open_sound
from shotcrit.media.source import PictureSource
from shotcrit.media.timing import DEFAULT_RATE
from shotcrit.progress import Progress, Quiet


@dataclass(frozen=True)
class Movie:
    """An opened medium. Holds no file open between calls; pictures() may run several times at once."""

    info: MovieInfo
    clock: FrameClock
    _pictures: PictureSource | None
    _sound: SoundSource | None

    def pictures(self, start: int = 0, stop: int | None = None) -> Iterator[Picture]:
        """Pictures start .. stop-1 (all that follow when stop is None), in order, decoded as they are asked for.

        A sound alone has none. Raises MediaError when the file changed or its disk went away.
        """
        if self._pictures is None:
            return
        stop = len(self.clock) if stop is None else min(stop, len(self.clock))
        if not 0 <= start < stop:
            return
        converter = Converter(self._pictures.shape)
        for stored in self._pictures.frames(start, stop):
            yield Picture(stored.index, stored.frame, converter, damaged=stored.damaged)

    def sound(self) -> Sound | None:
        """The whole sound with its true offset from the first picture, or None."""
        return self._sound.read(self._begins()) if self._sound else None

    def mixed_sound(self) -> MixedSound | None:
        """The sound in one channel, in a stream, or None."""
        return self._sound.mixed(self._begins()) if self._sound else None

    def _begins(self) -> Fraction:
        """Time of the first picture on the axis of the sound's own file."""
        if self._sound is None or self._pictures is None or self._sound.path != self.info.path:
            return self._sound.begins_s if self._sound else Fraction(0)
        return self._pictures.begins_s


def open_movie(
    path: Path,
    *,
    rate: Fraction | None = None,
    first_frame: int | None = None,
    sound: Path | None = None,
    progress: Progress | None = None,
) -> Movie:
    """Open `path`: a movie, a sound, or pictures (a pattern such as shot.####.png or shot.%04d.png, a folder, one file of a run).

    rate : frames per second of pictures or of a sound alone, 24 if not said. A movie has its own; another is refused.
    first_frame : the number shown for the first picture; None takes the number in the name of a run's first picture, 1 for all else
    sound : a WAV, FLAC or other sound whose first sample belongs to the first picture; counts instead of the movie's own
    Raises MediaError or InputError, one sentence.
    """
    watch = progress or Quiet()
    path = Path(path)
    if is_sequence(path):
        return _open_pictures(find_run(path), path, rate, first_frame, sound, watch)
    check_file(path)
    film = open_film(path, watch)
    if film is None:
        return _open_sound_alone(path, rate, first_frame, watch)
    if rate is not None and rate != film.clock.rate:
        raise InputError(f"{path} runs at {rate_label(film.clock.rate)} frames per second by its own time stamps; leave the rate out")
    own = _need_sound(sound) if sound else open_sound(path)
    digest = file_digest(path, watch)
    return _movie(path, path.name, digest, film, own, 1 if first_frame is None else first_frame, watch)


def _open_pictures(run: Run, path: Path, rate: Fraction | None, first_frame: int | None, sound: Path | None, watch: Progress) -> Movie:
    pictures = open_sequence(run, rate or DEFAULT_RATE)
    digest = run_digest(run.files.values(), watch)
    own = _need_sound(sound) if sound else None
    number = run.frame_number
    shown = first_frame if first_frame is not None else 1 if number is None else number
    return _movie(path, run.label, digest, pictures, own, shown, watch, numbered_from=number)


def _open_sound_alone(path: Path, rate: Fraction | None, first_frame: int | None, watch: Progress) -> Movie:
    sound = open_sound(path)
    if sound is None:
        raise MediaError(f"{path} holds neither pictures nor sound that can be decoded; name a movie or a sound")
    clock = FrameClock.for_sound(rate or DEFAULT_RATE, Fraction(sound.samples, sound.rate))
    info = MovieInfo(
        path=path, name=path.name, sha256=file_digest(path, watch), frames=len(clock), rate=clock.rate, variable_rate=False,
        width=None, height=None, first_frame=1 if first_frame is None else first_frame, duration_s=clock.duration,
        sound=sound.info(sound.begins_s),
    )  # fmt: skip
    return Movie(info, clock, None, sound)


def _need_sound(path: Path) -> SoundSource:
    check_file(path)
    found = open_sound(path)
    if found is None:
        raise MediaError(f"{path} holds no sound that can be decoded; name a WAV or FLAC")
    return found


def _movie(
    path: Path,
    name: str,
    digest: str,
    pictures: PictureSource,
    sound: SoundSource | None,
    first_frame: int,
    watch: Progress,
    *,
    numbered_from: int | None = None,
) -> Movie:
    apart = sound is not None and sound.path != path
    begins = sound.begins_s if sound and apart else pictures.begins_s
    if sound and apart:
        digest = joined_digest(digest, file_digest(sound.path, watch))
    info = MovieInfo(
        path=path, name=name, sha256=digest, frames=len(pictures.clock), rate=pictures.clock.rate, variable_rate=pictures.variable_rate,
        width=pictures.shape.width, height=pictures.shape.height, first_frame=first_frame, duration_s=pictures.clock.duration,
        sound=sound.info(begins) if sound else None, video_codec=pictures.codec, timecode=pictures.timecode,
        ended_early=pictures.ended_early, remarks=pictures.remarks, sound_path=sound.path if sound and apart else None,
        numbered_from=numbered_from,
    )  # fmt: skip
    return Movie(info, pictures.clock, pictures, sound)
