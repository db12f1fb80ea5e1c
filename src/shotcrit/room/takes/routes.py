"""Takes: adding them, what is said of one as a whole, finding a movie again."""

from __future__ import annotations

from fastapi import APIRouter

from shotcrit.crit.records import Id, Take
from shotcrit.room.http import READ, WRITE, Here, Who
from shotcrit.room.takes.shapes import Media, MediaFile, NewTake, TakePatch, WhereIsIt

read = APIRouter(tags=["takes"], responses=READ)
write = APIRouter(tags=["takes"], responses=WRITE)


@read.get("/takes")
def get_takes(room: Here) -> list[Take]:
    """All takes, oldest first."""
    return room.takes.listed()


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


@write.post("/takes/{take_id}/find")
def find_movie(take_id: Id, body: WhereIsIt, room: Here, who: Who) -> Media:
    """Point the room to a movie that was moved. Only the same file is taken, known by its hash."""
    return room.media.find(take_id, body.path, who)
