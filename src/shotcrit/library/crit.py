"""A crit, read by a script: its takes, notes and drawings. Nothing is changed, and nothing is measured."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from shotcrit.counted import counted
from shotcrit.crit.notes import in_order
from shotcrit.crit.records import Drawing, Note, Take
from shotcrit.errors import InputError
from shotcrit.library.items import Item, Items
from shotcrit.store.crit_file import CritFile


@dataclass(frozen=True)
class CritTake(Item):
    """One take. path : where its movie was seen last; rate : exact frames a second, '24000/1001'; overall : the reviewer's word on the whole"""

    id: str
    shot: str
    number: int
    label: str
    path: str
    sha256: str
    frames: int
    rate: str
    first_frame: int
    animator: str
    overall: str


@dataclass(frozen=True)
class CritNote(Item):
    """One note, frames as people count them. weight : must, polish or keep; answer : what the animator said; drawings : ids"""

    id: str
    take: int
    who: str | None
    first: int
    last: int
    weight: str
    what: str
    why: str
    suggest: str
    closed: bool
    done: bool
    answer: str
    finding: str | None
    drawings: tuple[str, ...]


@dataclass(frozen=True)
class CritDrawing(Item):
    """Strokes over frames. Each stroke : (tool, colour, width as a part of the picture's height, text, ((x, y, pressure, milliseconds), ...))"""

    id: str
    take: int
    first: int
    last: int
    strokes: tuple[tuple[str, str, float, str, tuple[tuple[float, float, float, float], ...]], ...]


@dataclass(frozen=True)
class Crit:
    """What a crit holds. Notes of a take stand in the order in which they are read; closed ones are among them."""

    path: Path
    takes: Items[CritTake]
    notes: Items[CritNote]
    drawings: Items[CritDrawing]

    def __repr__(self) -> str:
        return f"<Crit {self.path.name}: {counted(len(self.takes), 'take')}, {counted(len(self.notes), 'note')}>"


def read(path: str | Path) -> Crit:
    """Read a crit, as it stands now. Raises ShotcritError, one sentence, for what is none."""
    where = Path(path)
    if not where.exists():
        raise InputError(f"{where} does not exist; give a crit that was begun in the room")
    with CritFile.open(where) as crit, crit.view() as view:
        takes = sorted(view.all(Take), key=lambda take: take.number)
        notes = [(take, note) for take in takes for note in in_order(view, take.id)]
        drawings = [(take, drawing) for take in takes for drawing in view.all(Drawing, take=take.id)]
    return Crit(where, Items(map(_take, takes), CritTake, "take"), _notes(notes), _drawings(drawings))


def _take(take: Take) -> CritTake:
    return CritTake(
        take.id, take.shot, take.number, take.label, take.path, take.sha256, take.frames, take.rate, take.first_frame, take.animator, take.overall
    )  # fmt: skip


def _notes(found: Iterable[tuple[Take, Note]]) -> Items[CritNote]:
    made = (
        CritNote(
            n.id, take.number, n.who, n.first + take.first_frame, n.last + take.first_frame, n.weight, n.what, n.why, n.suggest, n.closed,
            n.answer.done if n.answer else False, n.answer.text if n.answer else "", n.finding, n.drawings,
        )
        for take, n in found
    )  # fmt: skip
    return Items(made, CritNote, "note")


def _drawings(found: Iterable[tuple[Take, Drawing]]) -> Items[CritDrawing]:
    made = (
        CritDrawing(
            d.id, take.number, d.first + take.first_frame, d.last + take.first_frame, tuple((s.tool, s.colour, s.width, s.text, s.points) for s in d.strokes)
        )
        for take, d in found
    )  # fmt: skip
    return Items(made, CritDrawing, "drawing")
