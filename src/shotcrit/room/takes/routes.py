"""Takes: adding them, what is said of one as a whole, finding a movie again."""

from __future__ import annotations

from fastapi import APIRouter

from shotcrit.crit.records import Id, Note, Take
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.takes.shapes import (
    Asked,
    LinedTake,
    Media,
    MediaFile,
    NewTake,
    Reference,
    ReferencePut,
    SettleNote,
    ShotsBeside,
    TakePatch,
    WhereIsIt,
)

read = APIRouter(tags=["takes"], responses=READ)
write = APIRouter(tags=["takes"], responses=WRITE)


@read.get("/takes")
def get_takes(room: Here) -> list[Take]:
    """All takes, oldest first."""
    return room.takes.listed()


@read.get("/takes/{take_id}/beside")
def get_shots_beside(take_id: Id, room: Here) -> ShotsBeside:
    """The shots before and after in the cut, by the order of names in the movie's folder; takes of one shot (`_v2`, `_take2`) are no neighbours."""
    return room.beside.named(take_id)


@read.get("/takes/{take_id}/reference")
def get_reference(take_id: Id, room: Here) -> Reference | None:
    """The still, drawing or movie that lies beside a take, and which of its frames belongs to which of the take's."""
    return room.references.of(take_id)


@read.get("/media")
def get_media_files(room: Here) -> list[MediaFile]:
    """Movies and sounds in the folders that this room may read, to choose a new take or a moved movie from."""
    return room.media.files()


@write.post("/takes", status_code=201)
def add_take(body: NewTake, room: Here, who: Who) -> Take:
    """Add a movie as the next take of a shot, or as a new shot."""
    return room.takes.add(body, who)


@write.patch("/takes/{take_id}")
def change_take(take_id: Id, body: TakePatch, room: Here, who: Who) -> Take:
    """Label, animator, first frame, medium, overall word, and the one note that matters most."""
    return room.takes.change(take_id, body, who)


@write.put("/takes/{take_id}/reference")
def put_reference(take_id: Id, body: ReferencePut, room: Here, who: Who) -> Reference | None:
    """Lay a still, a drawing or a movie beside a take, in step by time; move it, or take it away."""
    return room.references.put(take_id, body, who)


@write.post("/takes/{take_id}/find")
def find_movie(take_id: Id, body: WhereIsIt, room: Here, who: Who) -> Media:
    """Point the room to a movie that was moved. Only the same file is taken, known by its hash."""
    return room.media.find(take_id, body.path, who)


@read.get("/takes/{take_id}/asked")
def get_asked(take_id: Id, room: Here) -> Asked:
    """What was asked on older takes, at the frames where it lies on this one. Asking begins to line the takes up."""
    return room.asked.listed(take_id)


@read.get("/takes/{take_id}/lined")
def get_lined_takes(take_id: Id, room: Here) -> list[LinedTake]:
    """Older takes of the shot as far as they are lined up with this one: which frames belong together, and how they are framed."""
    return room.asked.older(take_id)


@write.post("/takes/{take_id}/asked/{note_id}")
def settle_note(take_id: Id, note_id: Id, body: SettleNote, room: Here, who: Who) -> Note:
    """Say what became of an older take's note on this one: done, asked again (a new note here), or not wanted any more. Answers with the old note."""
    return room.asked.settle(take_id, note_id, body, who)
