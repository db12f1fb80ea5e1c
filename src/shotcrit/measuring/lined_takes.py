"""Two takes of a crit lined up: which frames belong together, where the picture changed, and where the old cast's marks are on the new pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shotcrit.clock import Numbering
from shotcrit.crit.records import Take
from shotcrit.measuring.follow import lined_up_movies, lumas_of
from shotcrit.measuring.measure import Workbench
from shotcrit.media import Movie
from shotcrit.readings.cast import Cast
from shotcrit.takes.carry import CarriedMark, carry_cast
from shotcrit.takes.change import ChangeMap
from shotcrit.takes.frame_map import FrameMap
from shotcrit.takes.remarks import cast_remarks, remarks_of


@dataclass(frozen=True)
class LinedUp:
    """map : old frames to new; changes : None where only the sound was lined up; cast : the old take's on the new one's frames, sure marks alone

    unsure : marks of the old cast that a person has to confirm or place again
    remarks : sentences on the takes as wholes; carried : sentences on what of the cast came along, and what a person has to place again
    """

    map: FrameMap
    changes: ChangeMap | None = None
    cast: Cast | None = None
    unsure: Sequence[CarriedMark] = ()
    remarks: Sequence[str] = ()
    carried: Sequence[str] = ()


def line_takes_up(old: Take, new: Take, before: Movie, after: Movie, bench: Workbench) -> LinedUp:
    """before, after : the movies of the takes. Raises InputError, one sentence, where they do not belong together."""
    lined_up, changes = lined_up_movies(before, after, bench, steps=3)
    found = LinedUp(lined_up, changes, remarks=remarks_of(before.info, after.info, lined_up, changes))
    if changes is not None:
        cast = carry_cast(old.cast, lined_up, old.first_frame, new.first_frame, lumas_of(before), lumas_of(after))
        found = replace(found, cast=cast.cast, unsure=cast.unsure, carried=cast_remarks(cast, Numbering(new.first_frame)))
    bench.progress.step("lining the takes up", 3, 3)
    return found
