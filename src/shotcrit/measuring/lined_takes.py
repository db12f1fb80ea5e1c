"""Two takes of a crit lined up: which frames belong together, where the picture changed, and where the old cast's marks are on the new pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shotcrit.clock import Numbering
from shotcrit.crit.records import Take
from shotcrit.measuring.follow import lumas_of, side_of_measured
from shotcrit.measuring.measure import Workbench
from shotcrit.media import Movie
from shotcrit.readings.cast import Cast
from shotcrit.takes.align import line_up
from shotcrit.takes.carry import CarriedCast, CarriedMark, carry_cast
from shotcrit.takes.change import ChangeMap, change_map
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
    bench.progress.step("lining the takes up", 0, 3)
    one, other = side_of_measured(before, bench), side_of_measured(after, bench)
    lined_up = line_up(one, other)
    bench.progress.step("lining the takes up", 1, 3)
    changes = None
    if lined_up.sight is not None and one.glances is not None and other.glances is not None:
        changes = change_map(one.glances, other.glances, lined_up)
    bench.progress.step("lining the takes up", 2, 3)
    cast = _cast(old, new, before, after, lined_up) if changes is not None else None
    bench.progress.step("lining the takes up", 3, 3)
    return LinedUp(
        lined_up,
        changes,
        None if cast is None else cast.cast,
        () if cast is None else cast.unsure,
        remarks_of(before.info, after.info, lined_up, changes),
        () if cast is None else cast_remarks(cast, Numbering(new.first_frame)),
    )


def _cast(old: Take, new: Take, before: Movie, after: Movie, lined_up: FrameMap) -> CarriedCast:
    return carry_cast(old.cast, lined_up, old.first_frame, new.first_frame, lumas_of(before), lumas_of(after))
