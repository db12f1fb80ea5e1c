"""What was taken for granted of a take, as the page says it."""

from __future__ import annotations

from shotcrit.checks.measured import Measured
from shotcrit.clock import Numbering, Span
from shotcrit.crit.records import Take
from shotcrit.crit.recount import counted_otherwise
from shotcrit.measuring.assumed import counted_sentence
from shotcrit.sheet.plain import sentence


def taken_for_granted(take: Take, measured: Measured | None) -> list[str]:
    """One sentence each. Which frames count the take says, for that may have changed since it was measured."""
    if measured is None:
        return []
    said = [a.says for a in measured.readings.assumed if a.about != "frames"]
    if take.counts is not None:
        said.insert(0, counted_sentence(Numbering(take.first_frame).text(Span(take.counts.first, take.counts.last + 1))))
    return [sentence(one) for one in said]


def cast_counted_from(take: Take) -> int | None:
    """The number that the cast seems to count the first picture by, where it is not the take's."""
    return counted_otherwise(take.cast, first_frame=take.first_frame, frames=take.frames) if take.width else None
