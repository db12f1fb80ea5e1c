"""what is asked of measuring: one medium and what goes with it, already read and checked."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from shotcrit.errors import InputError
from shotcrit.measuring.characters import Learnt
from shotcrit.plain_file import read_plain
from shotcrit.readings.bundle import Medium
from shotcrit.readings.cast import Cast, read_cast
from shotcrit.readings.marks_csv import read_marks_csv
from shotcrit.readings.sound.given import GivenLine
from shotcrit.readings.sound.lines_file import lines_text, parse_lines, read_lines
from shotcrit.readings.sound.textgrid import BIGGEST_FILE as BIGGEST_GRID
from shotcrit.readings.sound.textgrid import Track, is_textgrid, parse_textgrid, read_textgrid, textgrid_text


@dataclass(frozen=True)
class MeasureRequest:
    """Measure `movie` (a movie, picture sequence or sound) with what is known about it.

    lines : what is said; track : words and phones with their own times, in place of `lines`
    said_key : names lines and track in the cache
    rate : frames per second that the user insists on; None = the medium's own
    first_frame : the number shown for the first picture; None = the number in the files' names for a run, else 1
    cast_from : the number that the cast counts the first picture by; None = as the movie is counted
    count_from, count_to : shown frames, both in, that are judged; None = from the first, to the last
    limits : the reviewer's own limits by 'check.limit'
    learnt : where what is learnt of characters is kept from shot to shot; None = nowhere
    """

    movie: Path
    lines: tuple[GivenLine, ...] = ()
    track: Track | None = None
    said_key: str = "none"
    cast: Cast | None = None
    scene: Path | None = None
    sound: Path | None = None
    rate: Fraction | None = None
    first_frame: int | None = None
    cast_from: int | None = None
    count_from: int | None = None
    count_to: int | None = None
    medium: Medium = "cg"
    limits: Mapping[str, float] = field(default_factory=dict)
    learnt: Learnt | None = None


def key_of(data: bytes) -> str:
    """A short name for a content, for the cache."""
    return hashlib.sha256(data).hexdigest()[:16]


def said_from_text(text: str) -> tuple[tuple[GivenLine, ...], Track | None, str]:
    """Lines typed, pasted or taken from a file, or the track when the text is a TextGrid's; and their key. Raises InputError, one sentence."""
    if not text.strip():
        return (), None, "none"
    if is_textgrid(text):
        return (), parse_textgrid(text), key_of(text.encode())
    return parse_lines(text), None, key_of(text.encode())


def said_text(path: Path) -> str:
    """A file of lines, or a TextGrid, as the text that a crit keeps. Raises InputError, one sentence."""
    text = textgrid_text(path) if path.suffix.lower() == ".textgrid" else lines_text(path)
    said_from_text(text)
    return text


def said_from_file(path: Path | None) -> tuple[tuple[GivenLine, ...], Track | None, str]:
    """Lines or track from a file, and their key. Raises InputError, one sentence."""
    if path is None:
        return (), None, "none"
    if path.suffix.lower() == ".textgrid":
        track = read_textgrid(path)
        return (), track, _file_key(path)
    lines = read_lines(path)
    return lines, None, _file_key(path)


def _file_key(path: Path) -> str:
    return key_of(read_plain(path, most=BIGGEST_GRID, over="which no lines need; give those of this shot", give="a file that exists"))


MOST_FRAME_NUMBER = 100_000_000
"""Numbers that people still read, and any table or page holds exactly: forty days and more at 24 frames a second."""


def request_from_files(
    movie: Path,
    *,
    lines: Path | None = None,
    cast: Path | None = None,
    scene: Path | None = None,
    sound: Path | None = None,
    rate: Fraction | None = None,
    first_frame: int | None = None,
    cast_from: int | None = None,
    count_from: int | None = None,
    count_to: int | None = None,
    medium: Medium = "cg",
    limits: Mapping[str, float] | None = None,
    marks: Path | None = None,
    characters: Path | None = None,
) -> MeasureRequest:
    """Read and check everything that goes with the movie before any long work begins."""
    for number in (first_frame, cast_from):
        if number is not None and abs(number) > MOST_FRAME_NUMBER:
            raise InputError(f"{number} is no usable first frame; studios begin at 1, 101 or 1001")
    said, track, key = said_from_file(lines)
    if scene is not None and not scene.exists():
        raise InputError(f"{scene} does not exist; give the scene file that was exported with the movie")
    return MeasureRequest(
        movie=movie,
        lines=said,
        track=track,
        said_key=key,
        cast=_cast(cast, marks),
        scene=scene,
        sound=sound,
        rate=rate,
        first_frame=first_frame,
        cast_from=cast_from,
        count_from=count_from,
        count_to=count_to,
        medium=medium,
        limits=dict(limits or {}),
        learnt=Learnt(characters, movie.stem) if characters else None,
    )


def _cast(cast: Path | None, marks: Path | None) -> Cast | None:
    """The cast of a file, with the marks of a table put in."""
    known = read_cast(cast) if cast else None
    return read_marks_csv(marks, known) if marks else known
