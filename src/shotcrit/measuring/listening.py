"""Reading a sound in a process of its own, beside the pictures.

Why a process: alignment holds the interpreter for seconds, and the pictures' reader, which asks for it thousands of times a second,
would stand still meanwhile. What a sound needs to be read takes longer to load than all else, and is then loaded beside the pictures too.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass

from shotcrit.elsewhere.bounds import Bounds
from shotcrit.elsewhere.far import Watch
from shotcrit.elsewhere.near import NotStarted, run_elsewhere
from shotcrit.errors import MediaError
from shotcrit.media import Movie
from shotcrit.progress import Progress
from shotcrit.readings import sound as sounds
from shotcrit.readings.sound.given import GivenLine
from shotcrit.readings.sound.textgrid import Track

SHORT_S = 4
"""Seconds of sound under which another process costs more than it saves (measured: about a second to start and load)."""


@dataclass(frozen=True)
class SoundWork:
    """What a sound reading hangs on. May be pickled."""

    movie: Movie
    lines: Sequence[GivenLine] = ()
    track: Track | None = None

    def read(self, progress: Progress) -> bytes:
        """The reading as JSON, the way the cache keeps it. Raises ShotcritError."""
        sound = self.movie.mixed_sound()
        if sound is None:
            raise MediaError(f"{self.movie.info.path} no longer holds the sound that it was opened with; start again")
        found = sounds.read_sound(sound, self.movie.clock, self.lines, track=self.track, progress=progress)
        return json.dumps(sounds.sound_to_json(found)).encode()


def worth_it(movie: Movie) -> bool:
    """Whether a second process is any faster than reading the sound after the pictures."""
    long = movie.info.sound is not None and movie.info.sound.duration_s >= SHORT_S
    return long and movie.info.width is not None and _cores() > 1


def read_elsewhere(work: SoundWork, progress: Progress) -> bytes | None:
    """What work.read gives, from another process; None where there is none to be had.

    Raises what the work raised, Died when the process died, and what `progress` raises (the other process is then ended).
    """
    try:
        return bytes(run_elsewhere(_read, work, progress=progress, bounds=Bounds(stopping_s=0)))  # it leaves no files
    except NotStarted:
        return None


def _read(work: SoundWork, watch: Watch) -> bytes:
    return work.read(watch)


def _cores() -> int:
    """How many cores this process may use."""
    if sys.platform == "linux":
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
