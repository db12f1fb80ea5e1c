"""Frames and sound: bytes, not JSON. Addressed by take and frame index, never by a path."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Query, WebSocket
from fastapi.responses import FileResponse, Response

from shotcrit.crit.records import MOST_FRAMES, Id
from shotcrit.room.frames.line import serve_frames
from shotcrit.room.frames.shapes import FrameTable, Playhead
from shotcrit.room.http import READ, WRITE, Here
from shotcrit.room.takes.shapes import Side

FOREVER = {"Cache-Control": "private, max-age=31536000, immutable"}
"""A take's movie never changes (it is known by its hash), so its frames may be kept for good."""
WIDEST = 8192
"""Pixels of a still asked for (guess: an 8K picture)."""

read = APIRouter(tags=["picture and sound"], responses=READ)
write = APIRouter(tags=["picture and sound"], responses=WRITE)
_JPEG: dict[int | str, dict[str, object]] = {200: {"content": {"image/jpeg": {}}, "description": "The picture."}}
_FLAC: dict[int | str, dict[str, object]] = {
    200: {"content": {"audio/flac": {}, "audio/wav": {}}, "description": "The whole sound."},
    206: {"content": {"audio/flac": {}, "audio/wav": {}}, "description": "The part of it that was asked for."},
    416: {"description": "The part asked for lies past the end."},
}


@read.get("/api/takes/{take_id}/frames")
def get_frame_table(take_id: Id, room: Here) -> FrameTable:
    """Which picture is on screen when, and where to fetch it."""
    return room.frames.table(take_id)


@read.get("/frame/{take_id}/{index}.jpg", responses=_JPEG, response_class=Response)
async def get_frame(
    take_id: Id,
    index: Annotated[int, Path(ge=0, le=MOST_FRAMES)],
    room: Here,
    width: Annotated[int | None, Query(ge=16, le=WIDEST, description="Pixels wide, for zooming in; at most the movie's own.")] = None,
) -> Response:
    """One picture. Waits a moment when it is just being built; 503 with Retry-After when that takes longer."""
    return Response(await room.frames.picture(take_id, index, width), media_type="image/jpeg", headers=FOREVER)


@read.get("/beside/{take_id}/{side}.jpg", responses=_JPEG, response_class=Response)
def get_shot_beside(take_id: Id, side: Side, room: Here) -> Response:
    """The last picture of the shot before, or the first of the shot after, a thumbnail."""
    return Response(room.beside.picture(take_id, side), media_type="image/jpeg", headers={"Cache-Control": "no-store"})


@read.get("/reference/{take_id}/{index}.jpg", responses=_JPEG, response_class=Response)
def get_reference_frame(take_id: Id, index: Annotated[int, Path(ge=0, le=MOST_FRAMES)], room: Here) -> Response:
    """One picture of what lies beside a take. Its address names the file by its hash (`?of=`), so it may be kept for good."""
    return Response(room.references.picture(take_id, index), media_type="image/jpeg", headers=FOREVER)


@read.websocket("/frame/{take_id}")
async def push_frames(socket: WebSocket, take_id: Id) -> None:
    """Pictures over one line: the page sends an index, and gets it back (four bytes, little-endian) with the JPEG, or alone when there is none yet."""
    await serve_frames(socket, socket.app.state.room.frames, take_id)


@read.get("/sound/{take_id}.flac", responses=_FLAC, response_class=FileResponse)
def get_sound(take_id: Id, room: Here) -> FileResponse:
    """The whole sound of a take. Its true offset from the first picture is in the frame table."""
    path, kind = room.frames.sound_file(take_id)
    return FileResponse(path, media_type=kind, headers=FOREVER)


@write.post("/api/takes/{take_id}/playhead", status_code=204)
def set_playhead(take_id: Id, body: Playhead, room: Here) -> None:
    """Tell where the reviewer is, so that frames are built around there first."""
    room.frames.set_playhead(take_id, body.index)
