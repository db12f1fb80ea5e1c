"""A room with two takes of the lantern scene: the second begins by standing still for half a second, so everything lies so much later."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from shutil import copy2
from typing import Any

from shotcrit.crit.records import Note, Shot, Stroke, Take
from shotcrit.measuring.lined_takes import LinedUp
from shotcrit.progress import Progress
from shotcrit.room.notes.shapes import NewDrawing, NewNote
from shotcrit.room.serve import Serving
from shotcrit.room.takes.shapes import NewTake
from tests.make import films
from tests.make.lined import later_by
from tests.make.measured import FRAMES
from tests.make.open_rooms import KnownWorker, scene, served

LATER = 12
WHO = "Mara"
RING = Stroke(tool="ellipse", colour="red", width=0.005, points=((0.3, 0.3, 0.5, 0), (0.46, 0.62, 0.5, 200)))


@dataclass(frozen=True)
class LinedWorker(KnownWorker):
    """Takes are lined up as they were made: everything `LATER` frames later."""

    def line_up(self, old: Take, new: Take, progress: Progress) -> LinedUp:
        return later_by(LATER, old, new)


def second_take(folder: Path) -> Path:
    pictures = list(islice(scene(FRAMES - LATER), 1))
    return films.make_film(folder / "lantern_040_take2.mp4", chain(pictures * LATER, scene(FRAMES - LATER)), sound=films.tone(11), gop=12)


@dataclass(frozen=True)
class TwoTakes:
    """serving : the room; first, second : ids of the takes; notes : of the first, praise last"""

    serving: Serving
    first: str
    second: str
    notes: tuple[Note, ...]

    def notes_now(self, take: str) -> list[Note]:
        return self.serving.room.notes.listed(take)


@contextmanager
def two_takes(first: Path, second: Path, folder: Path, worker: LinedWorker) -> Iterator[TwoTakes]:
    """The first take has a drawn note with the animator's answer, one without a drawing, and praise; nothing is answered yet on the second."""
    with served(first, folder, worker=worker) as serving:
        room = serving.room
        with room.crit.view() as view:
            (take,), (shot,) = view.all(Take), view.all(Shot)
        notes = (
            _write(serving, take.id, 74, 91, weight="must", what="She looks over his head.", suggest="Lower the irises.", who="Oona"),
            _write(serving, take.id, 120, 126, what="The hand settles too early."),
            _write(serving, take.id, 30, 40, weight="keep", what="The little drop before she speaks."),
        )
        room.drawings.draw(take.id, NewDrawing(first=74, last=91, strokes=(RING,), note=notes[0].id), WHO)
        _answered(serving, take.id, notes[0].id)
        added = room.takes.add(NewTake(path=str(copy2(second, folder)), shot=shot.id), WHO)
        yield TwoTakes(serving, take.id, added.id, notes)


def _write(serving: Serving, take: str, first: int, last: int, **said: Any) -> Note:
    return serving.room.notes.write(take, NewNote(first=first, last=last, still=first + 3, **said), WHO)


def _answered(serving: Serving, take: str, note: str) -> None:
    answers = [{"note": note, "done": True, "text": "lowered both, see 1082"}]
    said = {"schema": "shotcrit.answers/1", "crit": serving.room.crit.crit_id(), "take": take, "who": "Jonas", "answers": answers}
    serving.room.answers.read(json.dumps(said).encode(), WHO)
