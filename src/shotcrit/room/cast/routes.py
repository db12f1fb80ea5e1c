"""The cast: marks, looks, characters and props, contacts, marks as a table, what is known of characters."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Path, Query, UploadFile
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool

from shotcrit.crit.records import Id, Take
from shotcrit.readings.cast import Cast
from shotcrit.room.cast.shapes import (
    CastPut,
    CastRecount,
    ContactsPut,
    FaceConfirmed,
    FacesPut,
    Forgotten,
    LessonHere,
    LooksPut,
    MarkPut,
    MarksRead,
    NewPart,
    PartName,
)
from shotcrit.room.cast.tables import MOST_TABLE
from shotcrit.room.http import READ, WRITE, Here, Who

read = APIRouter(tags=["cast"], responses=READ)
write = APIRouter(tags=["cast"], responses=WRITE)
Name = Annotated[str, Path(min_length=1, max_length=100)]
"""As it is said; a name may hold a slash ('Ada/Ben'), so that it stands in a path as several parts."""
_CSV: dict[int | str, dict[str, object]] = {
    200: {"content": {"text/csv": {}}, "description": "The table; docs/reference/marks.md has its columns."}
}


@read.get("/takes/{take_id}/cast")
def get_cast(take_id: Id, room: Here) -> Cast:
    """Characters, props, marks, looks, contacts, cameras. Frames in a cast are shown frames (first_frame added), as in cast files."""
    return room.takes.get(take_id).cast


@write.put("/takes/{take_id}/cast")
def put_cast(take_id: Id, body: CastPut, room: Here, who: Who) -> Take:
    """Replace the whole cast."""
    return room.casting.put(take_id, body, who)


@write.post("/takes/{take_id}/cast/recount")
def recount_cast(take_id: Id, body: CastRecount, room: Here, who: Who) -> Take:
    """Count the cast as the take is counted: every frame in it moves along."""
    return room.casting.recount(take_id, body, who)


@write.put("/takes/{take_id}/cast/marks/{name:path}/{mark}")
def put_mark(take_id: Id, name: Name, mark: Name, body: MarkPut, room: Here, who: Who) -> Take:
    """Place, move or clear the points of one mark of a character or prop; only that mark can clash."""
    return room.casting.place_mark(take_id, name, mark, body, who)


@write.put("/takes/{take_id}/cast/looks")
def put_looks(take_id: Id, body: LooksPut, room: Here, who: Who) -> Take:
    """Say who looks at what, over which frames."""
    return room.casting.say_looks(take_id, body, who)


@write.put("/takes/{take_id}/cast/faces")
def put_faces(take_id: Id, body: FacesPut, room: Here, who: Who) -> Take:
    """Say whose the found faces are, in their whole shot; two that are swapped are one edit."""
    return room.casting.say_faces(take_id, body, who)


@write.post("/takes/{take_id}/cast/faces/confirmed")
def confirm_face(take_id: Id, body: FaceConfirmed, room: Here, who: Who) -> Take:
    """Confirm a found face: its proposed marks become placed ones, and count from now on."""
    return room.casting.confirm_face(take_id, body, who)


@write.post("/takes/{take_id}/cast/parts", status_code=201)
def add_part(take_id: Id, body: NewPart, room: Here, who: Who) -> Take:
    """Add a character or prop to the cast."""
    return room.casting.add_part(take_id, body, who)


@write.patch("/takes/{take_id}/cast/parts/{name:path}")
def rename_part(take_id: Id, name: Name, body: PartName, room: Here, who: Who) -> Take:
    """Give a character or prop another name, in looks and contacts too."""
    return room.casting.rename_part(take_id, name, body, who)


@write.delete("/takes/{take_id}/cast/parts/{name:path}")
def remove_part(take_id: Id, name: Name, room: Here, who: Who) -> Take:
    """Take a character or prop out of the cast, with its marks, looks and contacts."""
    return room.casting.remove_part(take_id, name, who)


@write.put("/takes/{take_id}/cast/contacts")
def put_contacts(take_id: Id, body: ContactsPut, room: Here, who: Who) -> Take:
    """Say which two marks must not slide on each other, over which frames."""
    return room.casting.say_contacts(take_id, body, who)


@read.get("/takes/{take_id}/marks.csv", responses=_CSV, response_class=Response)
def get_marks_table(
    take_id: Id, room: Here, followed: Annotated[bool, Query(description="Every frame that was followed, not only those placed.")] = True
) -> Response:
    """The marks as a table."""
    name, text = room.mark_tables.written(take_id, followed=followed)
    return Response(text, media_type="text/csv", headers={"Content-Disposition": f"attachment; filename*=UTF-8''{quote(name)}"})


@write.post("/takes/{take_id}/marks.csv")
async def read_marks_table(take_id: Id, file: UploadFile, room: Here, who: Who) -> MarksRead:
    """Put the placed marks of a table into the cast; one edit."""
    return await run_in_threadpool(room.mark_tables.read, take_id, await file.read(MOST_TABLE + 1), who)


@read.get("/takes/{take_id}/lessons")
def get_lessons(take_id: Id, room: Here) -> list[LessonHere]:
    """What is kept of this take's characters, and from which shots."""
    return room.lessons.listed(take_id)


@write.delete("/takes/{take_id}/lessons/{name:path}")
def forget_lessons(
    take_id: Id,
    name: Name,
    room: Here,
    movie: Annotated[str | None, Query(pattern=r"^[0-9a-f]{64}$", description="Of this movie alone.")] = None,
) -> Forgotten:
    """Forget what was learnt of a character; the take is measured again without it."""
    return room.lessons.forget(take_id, name, movie)
