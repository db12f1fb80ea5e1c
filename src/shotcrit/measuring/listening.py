"""Reading a sound in a process of its own, beside the pictures.

Why a process: alignment holds the interpreter for seconds, and the pictures' reader, which asks for it thousands of times a second,
would stand still meanwhile. What a sound needs to be read takes longer to load than all else, and is then loaded beside the pictures too.
"""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import IO, Any

from shotcrit.errors import MediaError, ShotcritError
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
    return long and movie.info.width is not None and bool(sys.executable) and len(_cores()) > 1


def read_apart(work: SoundWork, progress: Progress) -> bytes | None:
    """What work.read gives, from another process; None when there is no telling why that process could not do it.

    Raises what the work raised, and what `progress` raises (the other process is then ended).
    """
    try:
        process = subprocess.Popen(
            [sys.executable, "-m", __name__],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # Ctrl-C is for us to hear; we end the other
        )
    except OSError:
        return None
    with process:
        try:
            return _listen(process, work, progress)
        finally:
            process.kill()


def _listen(process: subprocess.Popen[bytes], work: SoundWork, progress: Progress) -> bytes | None:
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        pickle.dump(work, process.stdin)
        process.stdin.close()
    except OSError:
        return None
    while True:
        try:
            said, *rest = pickle.load(process.stdout)
        except (EOFError, OSError, pickle.UnpicklingError):
            return None
        if said == "step":
            progress.step(*rest)
        elif said == "failed":
            raise rest[0]
        else:
            return bytes(rest[0])


def _cores() -> Sequence[int]:
    """The cores that this process may use."""
    try:
        return sorted(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return range(os.cpu_count() or 1)


@dataclass(frozen=True)
class _Teller:
    """Progress at the far end."""

    out: IO[bytes]

    def step(self, stage: str, done: float, total: float | None) -> None:
        _say(self.out, "step", stage, done, total)


def _say(out: IO[bytes], *what: Any) -> None:
    pickle.dump(what, out)
    out.flush()


def main() -> None:
    """The far end: work on standard input, progress and the reading on standard output, which nobody else may write to."""
    out = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    work = pickle.load(sys.stdin.buffer)
    # A pipe that broke means that nobody waits any more.
    with suppress(BrokenPipeError):
        try:
            _say(out, "done", work.read(_Teller(out)))
        except ShotcritError as problem:
            _say(out, "failed", problem)


if __name__ == "__main__":
    main()
