"""Takes: adding them, what is said of one as a whole, finding a movie again."""

from __future__ import annotations

from fastapi import APIRouter

from shotcrit.crit.records import Id, Take
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.takes.shapes import Media, MediaFile, NewTake, Reference, ReferencePut, ShotsBeside, TakePatch, WhereIsIt

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
