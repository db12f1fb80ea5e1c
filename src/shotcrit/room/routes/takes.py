"""Takes: adding, finding the movie again, lines, cast, corrections."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path

from shotcrit.crit.things import Correction, Id, Take
from shotcrit.readings.cast import Cast
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.routes.notes import Base
from shotcrit.room.shapes.common import Done
from shotcrit.room.shapes.notes import NewCorrection
from shotcrit.room.shapes.review import CastPut, LinesSaved, LooksPut, MarkPut, Media, MediaFile, NewLines, NewTake, TakePatch, WhereIsIt

read = APIRouter(tags=["takes"], responses=READ)
write = APIRouter(tags=["takes"], responses=WRITE)
Name = Annotated[str, Path(min_length=1, max_length=100)]


@read.get("/takes")
def get_takes(room: Here) -> list[Take]:
    """All takes, oldest first."""
    return room.takes()


@read.get("/media")
def get_media_files(room: Here) -> list[MediaFile]:
    """Movies and sounds in the folders that this room may read, to choose a new take or a moved movie from."""
    return room.media_files()


@write.post("/takes", status_code=201)
def add_take(body: NewTake, room: Here, who: Who) -> Take:
    """Add a movie as the next take of a shot, or as a new shot."""
    return room.add_take(body, who)


@write.patch("/takes/{take_id}")
def change_take(take_id: Id, body: TakePatch, room: Here, who: Who) -> Take:
    """Label, animator, first frame, medium, overall word, and the one note that matters most."""
    return room.change_take(take_id, body, who)


@write.post("/takes/{take_id}/find")
def find_movie(take_id: Id, body: WhereIsIt, room: Here, who: Who) -> Media:
    """Point the room to a movie that was moved. Only the same file is taken, known by its hash."""
    return room.find_movie(take_id, body.path, who)


@write.put("/takes/{take_id}/lines")
def put_lines(take_id: Id, body: NewLines, room: Here, who: Who) -> LinesSaved:
    """Type or paste the dialogue; aligning starts at once and tells its progress as a job."""
    return room.put_lines(take_id, body, who)


@read.get("/takes/{take_id}/cast")
def get_cast(take_id: Id, room: Here) -> Cast:
    """Characters, props, marks, looks, contacts, cameras. Frames in a cast are shown frames (first_frame added), as in cast files."""
    return room.take(take_id).cast


@write.put("/takes/{take_id}/cast")
def put_cast(take_id: Id, body: CastPut, room: Here, who: Who) -> Take:
    """Replace the whole cast."""
    return room.put_cast(take_id, body, who)


@write.put("/takes/{take_id}/cast/marks/{name}/{mark}")
def put_mark(take_id: Id, name: Name, mark: Name, body: MarkPut, room: Here, who: Who) -> Take:
    """Place, move or clear the points of one mark of a character or prop; only that mark can clash."""
    return room.put_mark(take_id, name, mark, body, who)


@write.put("/takes/{take_id}/cast/looks")
def put_looks(take_id: Id, body: LooksPut, room: Here, who: Who) -> Take:
    """Say who looks at what, over which frames."""
    return room.put_looks(take_id, body, who)


@read.get("/takes/{take_id}/corrections")
def get_corrections(take_id: Id, room: Here) -> list[Correction]:
    """What was corrected by hand on a take."""
    return room.corrections(take_id)


@write.post("/takes/{take_id}/corrections", status_code=201)
def correct(take_id: Id, body: NewCorrection, room: Here, who: Who) -> list[Correction]:
    """Drag, split, relabel, add or delete words, phones, breaths and cuts. It survives every new measurement. One call is one undo."""
    return room.correct(take_id, body, who)


@write.delete("/corrections/{correction_id}")
def delete_correction(correction_id: Id, room: Here, who: Who, version: Base = None) -> Done:
    """Go back to what was measured."""
    return room.delete(Correction, correction_id, who, "take a correction back", version)
