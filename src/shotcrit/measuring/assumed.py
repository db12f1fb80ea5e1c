"""What measuring takes for granted about the medium and what came with it. What it takes of a scene, the scene's reader says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shotcrit.clock import Numbering, rate_label
from shotcrit.crit.recount import counted_otherwise
from shotcrit.measuring.request import MeasureRequest
from shotcrit.measuring.settled import counted_frames
from shotcrit.media.info import MovieInfo
from shotcrit.media.picture_files import is_sequence
from shotcrit.readings.bundle import Assumed
from shotcrit.readings.sound.tongue import foreign_words

NAMED = 4
"""Marks, directions or lines named one by one in a sentence."""
LONGEST = 40
"""Letters of a line that is named in a sentence."""


def assumed_of(request: MeasureRequest, info: MovieInfo) -> tuple[Assumed, ...]:
    """In the order movie, frames, sound, lines, scene."""
    return (*_of_movie(request, info), *_of_counted(request, info), *_of_cast(request, info), *_of_what_came_with_it(request))


def _of_movie(request: MeasureRequest, info: MovieInfo) -> Iterator[Assumed]:
    if info.ended_early:
        yield Assumed("movie", info.ended_early)
    if info.variable_rate:
        rate = rate_label(info.rate)
        yield Assumed("movie", f"the pictures come at varying times; each counts as one frame, and {rate} a second is taken for their rate")
    if request.rate is None and (info.width is None or is_sequence(request.movie)):
        what = "a sound" if info.width is None else "a run of pictures"
        yield Assumed("movie", f"{what} has no rate of its own; {rate_label(info.rate)} frames a second are taken, say another with --rate")
    yield from _of_numbers(info)
    yield from (Assumed("movie", remark) for remark in info.remarks)


def _of_counted(request: MeasureRequest, info: MovieInfo) -> Iterator[Assumed]:
    counts = counted_frames(request, info)
    if counts is not None:
        yield Assumed("frames", counted_sentence(Numbering(info.first_frame).text(counts)))


def counted_sentence(frames: str) -> str:
    """What is said of a movie of which only some frames count."""
    return f"only {frames} {'count' if ' ' in frames else 'counts'}; what lies outside is shown and not judged"


def cast_sentence(counted_from: int, first_frame: int) -> str:
    """What is said of a cast that is counted otherwise than its movie."""
    return f"the cast seems to count from {counted_from} and the movie from {first_frame}, so nothing in it meets a frame"


def _of_numbers(info: MovieInfo) -> Iterator[Assumed]:
    """How the frames of a run of pictures are counted, where that is not plainly from 1."""
    if info.numbered_from is None or info.first_frame == info.numbered_from == 1:
        return
    if info.first_frame == info.numbered_from:
        yield Assumed(
            "movie", f"frames are counted from {info.first_frame}, the number in the first picture's name; say another with --first-frame"
        )
    else:
        yield Assumed("movie", f"frames are counted from {info.first_frame}, and the pictures' names from {info.numbered_from}")


def _of_cast(request: MeasureRequest, info: MovieInfo) -> Iterator[Assumed]:
    """Marks that were placed on none of the movie's frames, most likely counted from another first frame."""
    if request.cast is None or info.width is None:
        return
    first, last = info.first_frame, info.first_frame + info.frames - 1
    other = counted_otherwise(request.cast, first_frame=first, frames=info.frames)
    if other is not None:
        yield Assumed(
            "frames", f"{cast_sentence(other, first)}; say --cast-from {other} to move it, or --first-frame {other} to count the movie so"
        )
        return
    placed = {f"{part.name}.{mark}": spots for part in request.cast.marked for mark, spots in part.marks.items() if spots}
    outside = [name for name, spots in placed.items() if not any(first <= spot.frame <= last for spot in spots)]
    if outside:
        named = ", ".join(outside[:NAMED]) + (f" and {len(outside) - NAMED} more" if len(outside) > NAMED else "")
        says = f"the movie's frames are {first} to {last}, and the cast places {named} outside of them: not followed; see --first-frame"
        yield Assumed("movie", says)


def _of_what_came_with_it(request: MeasureRequest) -> Iterator[Assumed]:
    if request.sound is not None:
        yield Assumed("sound", f"the first sample of {request.sound.name} is taken to belong to the first picture")
    yield from _of_lines(request)
    if request.track is not None:
        yield Assumed("lines", "words and phones are taken from the TextGrid as they stand; nothing was aligned")


def _of_lines(request: MeasureRequest) -> Iterator[Assumed]:
    """What of the lines' text was not taken for words, and which lines are in no English."""
    left_out = list(dict.fromkeys(said for line in request.lines for said in line.directions))
    if left_out:
        verb = "is taken for a stage direction" if len(left_out) == 1 else "are taken for stage directions"
        yield Assumed("lines", f"{_listed(left_out)} {verb} and not spoken")
    foreign = foreign_words(request.lines) if request.lines else []
    for why in dict.fromkeys(clause for clause in foreign if clause):
        own = [line.text for line, clause in zip(request.lines, foreign, strict=True) if clause == why]
        many = why.replace("it is", "they are", 1).replace("it seems", "they seem", 1) if len(own) > 1 else why
        yield Assumed("lines", f"{_listed(own)} {'are' if len(own) > 1 else 'is'} not aligned: {many}")


def _listed(said: Sequence[str]) -> str:
    """'this', 'that' and 3 more; long ones shortened."""
    short = [f"'{one if len(one) <= LONGEST else one[: LONGEST - 1].rstrip() + chr(0x2026)}'" for one in said[:NAMED]]
    if len(said) > NAMED:
        return f"{', '.join(short)} and {len(said) - NAMED} more"
    return " and ".join(filter(None, (", ".join(short[:-1]), short[-1])))
