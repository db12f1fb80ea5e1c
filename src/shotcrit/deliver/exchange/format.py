"""What a format is: how it is called, what it makes of a crit, and what it cannot hold of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shotcrit.counted import counted
from shotcrit.deliver.crit_input import CritForDelivery
from shotcrit.deliver.exchange.counting import Counting, counting_of


@dataclass(frozen=True)
class Made:
    """files : what a file's name ends in -> its bytes; lost : one sentence each on what the format could not hold"""

    files: Mapping[str, bytes]
    lost: tuple[str, ...] = ()


@dataclass(frozen=True)
class Format:
    """One format. make raises InputError, one sentence, where the shot lacks what the file would be made of.

    holds : what it keeps and what it cannot, for the reference; pictures : it shows stills
    """

    kind: str
    name: str
    help: str
    holds: str
    make: Callable[[CritForDelivery], Made]
    pictures: bool = False


def counting(crit: CritForDelivery) -> Counting:
    """How the crit's movie is counted."""
    return counting_of(crit.measured.readings.movie, crit.measured.readings.clock)


def lost(crit: CritForDelivery, what: str, *, drawings: bool = False, overall: bool = False, times: bool = True) -> tuple[str, ...]:
    """The sentences on what `what` ('A table') does not hold of this crit.

    drawings, overall : whether it holds them; times : whether its times follow frames that come unevenly
    """
    count = counting(crit)
    drawn = sum(1 for note in crit.notes if note.drawings)
    found = [count.remark]
    if drawn and not drawings:
        found.append(f"{what} holds no drawings; those of {counted(drawn, 'note')} are left out.")
    if crit.overall and not overall:
        found.append(f"{what} has no place for the word on the whole; it is left out.")
    if count.variable and not times:
        found.append(f"{what} holds one rate, and the frames of this movie come unevenly; its times are right at the frame numbers alone.")
    return tuple(sentence for sentence in found if sentence)
