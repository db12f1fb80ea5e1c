"""Following a shot from one take to the next: both measured, lined up, compared; what a crit asks for is looked at again. Nothing is written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Numbering
from shotcrit.counted import counted
from shotcrit.crit.limits import own_limits
from shotcrit.crit.notes import in_order
from shotcrit.crit.records import Correction, Drawing, Take
from shotcrit.crit.review import decided
from shotcrit.crit.view import View
from shotcrit.errors import InputError
from shotcrit.measuring.deliveries import Still, still_of
from shotcrit.measuring.measure import Workbench, measure, open_medium
from shotcrit.measuring.request import MeasureRequest
from shotcrit.measuring.take import chosen_take, judged_again, take_request
from shotcrit.media import Movie
from shotcrit.media.passes import rows_of_pass
from shotcrit.readings.picture.glance import GlanceReader, glances
from shotcrit.store.crit_file import CritFile
from shotcrit.takes.align import line_up
from shotcrit.takes.carry import LOOKED_AT, Pictures, carry_cast
from shotcrit.takes.change import ChangeMap, change_map
from shotcrit.takes.frame_map import FrameMap
from shotcrit.takes.remarks import cast_remarks, remarks_of
from shotcrit.takes.side import Side, side_of
from shotcrit.takes.verdicts import Asked, Followed, follow

MOST_FRAMES = 20_000
"""Frames of a take that is followed: its glances lie in memory, 9 kB each and a few times over (guess: fourteen minutes are no shot)."""


@dataclass(frozen=True)
class OldTake:
    """The take that is followed. corrections : by hand, put over its measurement"""

    request: MeasureRequest
    asked: Asked = field(default_factory=Asked)
    corrections: Sequence[Correction] = ()
    sha256: str | None = None


def old_take(path: Path, number: int | None = None) -> OldTake:
    """A crit's newest take, or take `number`, with what was asked of it. Raises InputError or StoreError, one sentence."""
    if not path.exists():
        raise InputError(f"{path} does not exist; give a crit that was begun in the room")
    with CritFile.open(path) as crit, crit.view() as view:
        take = chosen_take(view, path, number)
        return OldTake(take_request(take, own_limits(view)), asked_of(view, take), view.all(Correction, take=take.id), take.sha256)


def asked_of(view: View, take: Take) -> Asked:
    """What a crit asks of one take: notes that are not closed, and findings that were not put away."""
    notes = tuple(note for note in in_order(view, take.id) if not note.closed)
    return Asked(notes, {d.id: d for d in view.all(Drawing, take=take.id)}, decided(view, take.shot), take.id)


def follow_takes(old: OldTake, new: MeasureRequest, bench: Workbench | None = None) -> Followed:
    """Verdicts on all that was found on the old take and asked of it.

    Raises ShotcritError for bad input and for takes that do not belong together, Stopped when `bench.progress` says so.
    """
    work = bench or Workbench()
    before, after = open_medium(old.request, work.progress), open_medium(new, work.progress)
    if old.sha256 is not None and before.info.sha256 != old.sha256:
        raise InputError(
            f"{old.request.movie} is another file than the one reviewed; open the crit in the room and point it to the right one"
        )
    for movie in (before, after):
        if movie.info.frames > MOST_FRAMES:
            raise InputError(
                f"{movie.info.path} has {counted(movie.info.frames, 'frame')}, and takes of up to {MOST_FRAMES} can be followed; give one shot"
            )
    was = measure(old.request, work, movie=before)
    if old.corrections:
        was = judged_again(was, was.readings, old.corrections, old.request.limits)
    now = measure(new, work, movie=after)
    lined_up, changes = lined_up_movies(before, after, work, steps=2)
    remarks = remarks_of(before.info, after.info, lined_up, changes)
    doubtful: frozenset[tuple[str, str]] = frozenset()
    if new.cast is None and was.readings.cast is not None and lined_up.sight is not None:
        carried = carry_cast(
            was.readings.cast, lined_up, before.info.first_frame, after.info.first_frame, lumas_of(before), lumas_of(after)
        )
        now = measure(replace(new, cast=carried.cast), work, movie=after)
        remarks, doubtful = (*remarks, *cast_remarks(carried, Numbering(after.info.first_frame))), carried.doubtful
    return follow(was, now, lined_up, changes, old.asked, remarks, doubtful=doubtful)


def lined_up_movies(before: Movie, after: Movie, bench: Workbench, *, steps: int) -> tuple[FrameMap, ChangeMap | None]:
    """Two measured movies: which frames belong together, and where the picture changed; None where only the sound was lined up.

    steps : of the whole that these are the first two of, for the progress. Raises InputError, one sentence, where they do not belong together.
    """
    bench.progress.step("lining the takes up", 0, steps)
    one, other = _side_of_measured(before, bench), _side_of_measured(after, bench)
    lined_up = line_up(one, other)
    bench.progress.step("lining the takes up", 1, steps)
    changes = None
    if lined_up.sight is not None and one.glances is not None and other.glances is not None:
        changes = change_map(one.glances, other.glances, lined_up)
    bench.progress.step("lining the takes up", 2, steps)
    return lined_up, changes


def lumas_of(movie: Movie) -> Pictures:
    """Pictures of a movie as marks are looked for on them; a dozen are kept."""

    @lru_cache(maxsize=12)
    def luma(index: int) -> npt.NDArray[np.uint8]:
        picture = next(iter(movie.pictures(index, index + 1)))
        return np.asarray(picture.luma(LOOKED_AT), np.uint8)

    return luma


def like_the_old(new: MeasureRequest, old: MeasureRequest) -> MeasureRequest:
    """The new take's request with what a crit knows of the shot, where nothing else was said: lines, limits, medium, the first frame's number."""
    said = new if new.said_key != "none" else replace(new, lines=old.lines, track=None if old.lines else old.track, said_key=old.said_key)
    return replace(
        said,
        limits={**old.limits, **new.limits},
        medium=old.medium if new.medium == "cg" else new.medium,
        first_frame=old.first_frame if new.first_frame is None else new.first_frame,
    )


def followed_stills(old: MeasureRequest, new: MeasureRequest, bench: Workbench) -> tuple[Still | None, Still | None]:
    """Pictures of both takes for a page; None for a sound."""
    movies = [open_medium(request) for request in (old, new)]
    was, now = (still_of(movie, bench.cache) if movie.info.width else None for movie in movies)
    return was, now


def _side_of_measured(movie: Movie, bench: Workbench) -> Side:
    """A movie that was measured, as one of two takes: its glances come from the cache, and nothing is decoded again but its sound."""
    return side_of(movie, _glances(movie, bench))


def _glances(movie: Movie, bench: Workbench) -> npt.NDArray[np.float32] | None:
    if movie.info.width is None:
        return None
    kept = bench.cache.medium(movie.info.sha256)
    with rows_of_pass(movie, [GlanceReader()], blocks=kept, progress=bench.progress) as rows:
        return glances(rows[GlanceReader.NAME]).copy()
