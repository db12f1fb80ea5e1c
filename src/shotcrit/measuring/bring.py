"""Notes and drawings of a file, brought into a take of a crit."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from shotcrit.clock import FrameClock
from shotcrit.counted import counted
from shotcrit.crit.brought import Arrived, bring_in
from shotcrit.crit.ids import new_id
from shotcrit.crit.records import Drawing, Note, Take
from shotcrit.crit.view import View
from shotcrit.deliver.crit_input import Drawn
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.formats import SOURCES
from shotcrit.deliver.exchange.incoming import MOST_BYTES, Incoming
from shotcrit.errors import InputError
from shotcrit.measuring.take import chosen_take
from shotcrit.plain_file import read_plain, size_words
from shotcrit.store.crit_file import CritFile


@dataclass(frozen=True)
class Records:
    """What a file brings, as records of a take with fresh ids."""

    notes: tuple[Note, ...]
    drawings: tuple[Drawing, ...]


def bring(path: Path, crit: Path, *, number: int | None, who: str) -> str:
    """Bring the notes of a file into the newest take of a crit, or take `number`; what was brought, in a sentence.

    Raises InputError or StoreError, one sentence, before anything is stored.
    """
    if not crit.exists():
        raise InputError(f"{crit} does not exist; give a crit that was begun in the room")
    data = read_plain(path, most=MOST_BYTES, over="which no notes need; give those of one take", give="a file with notes that exists")
    with CritFile.open(crit) as opened:
        with opened.view() as view:
            take = chosen_take(view, crit, number)
        incoming = read_incoming(data, path.name, counting_of_take(take))
        brought = records(incoming, take.id)
        told: list[Arrived] = []
        opened.edit(who, lambda view: arrived(view, take.id, brought, told).edit)
    return says(told[-1], incoming)


def read_incoming(data: bytes, name: str, count: Counting) -> Incoming:
    """The notes and drawings of a file, by what its name ends in. Raises InputError, one sentence."""
    if len(data) > MOST_BYTES:
        raise InputError(f"{name} is over {size_words(MOST_BYTES)}, which no notes need; give those of one take")
    source = next((source for source in SOURCES if name.lower().endswith(source.endings)), None)
    if source is None:
        known = ", ".join(ending for source in SOURCES for ending in source.endings)
        raise InputError(f"{name} is no file that notes are read from; give one that ends in {known}")
    found = source.read(data, name, count)
    if not (found.notes or found.drawings):
        raise InputError(f"{name} holds no notes and no drawings; choose the file that has them")
    return found


def counting_of_take(take: Take, clock: FrameClock | None = None) -> Counting:
    """How a stored take is counted. clock : its movie's; None: even frames"""
    known = clock or FrameClock.steady(Fraction(take.rate), take.frames)
    return Counting(known, take.first_frame, max(0, take.first_frame), variable=take.variable_rate)


def records(incoming: Incoming, take: str) -> Records:
    """Fresh records of what came."""
    notes: list[Note] = []
    drawings = [_drawing(d, take) for d in incoming.drawings]
    for one in incoming.notes:
        own = [_drawing(d, take) for d in one.drawings]
        drawings += own
        notes.append(
            Note(
                id=new_id(),
                take=take,
                first=one.first,
                last=one.last,
                who=one.who,
                weight=one.weight,
                what=one.what,
                why=one.why,
                suggest=one.suggest,
                still=one.at,
                drawings=tuple(drawing.id for drawing in own),
            )
        )
    return Records(tuple(notes), tuple(drawings))


def _drawing(one: Drawn, take: str) -> Drawing:
    return Drawing(id=new_id(), take=take, first=one.first, last=one.last, strokes=one.strokes)


def arrived(view: View, take: str, brought: Records, told: list[Arrived]) -> Arrived:
    """The edit, and what it adds put on `told`, since storing answers with the edit alone."""
    told.append(bring_in(view, take, brought.notes, brought.drawings))
    return told[-1]


def says(came: Arrived, incoming: Incoming) -> str:
    """'2 notes and 1 drawing brought in; 1 note was there already.'"""
    known = f"; {counted(came.known, 'note')} {'was' if came.known == 1 else 'were'} there already" if came.known else ""
    return " ".join((f"{counted(came.notes, 'note')} and {counted(came.drawings, 'drawing')} brought in{known}.", *incoming.says))
