"""Hand-made corrections carried to the next take: those whose time runs there as it did."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Correction, CutValue, Heard, Take
from shotcrit.takes.frame_map import FrameMap

SAME_SOUND = 0.3
"""Part of the frames whose sound must be found again for what was heard to be the same (guess: half of a shot is often silent)."""


def carried_words(corrections: Sequence[Correction], old: Take, new: Take, lined_up: FrameMap) -> list[Correction]:
    """The corrections that hold on the new take; the others are left out, for they would lie on other words."""
    found = []
    for correction in corrections:
        was, now = (_moved(value, old, new, lined_up) for value in (correction.was, correction.now))
        if (was is None) == (correction.was is None) and (now is None) == (correction.now is None):
            found.append(Correction(id=new_id(), take=new.id, event=correction.event, was=was, now=now))
    return found


def _moved(value: Heard | None, old: Take, new: Take, lined_up: FrameMap) -> Heard | None:
    """None where its frames are gone or retimed, or the sound is another."""
    if isinstance(value, CutValue):
        frame = lined_up(value.frame)
        return None if frame is None else CutValue(frame=frame)
    if value is None or lined_up.by_sound < SAME_SOUND:
        return None
    before, after = (_later(time_s, old, new, lined_up) for time_s in (value.start_s, value.end_s))
    if before is None or after is None or abs(before - after) > 1 / Fraction(new.rate):
        return None
    return value.model_copy(update={"start_s": value.start_s + float(before), "end_s": value.end_s + float(before)})


def _later(time_s: float, old: Take, new: Take, lined_up: FrameMap) -> Fraction | None:
    """Seconds by which a moment lies later on the new take."""
    frame = int(time_s * Fraction(old.rate))
    there = lined_up(frame)
    return None if there is None else there / Fraction(new.rate) - frame / Fraction(old.rate)
