"""Notes, drawings and first-look markers."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, UploadFile
from starlette.concurrency import run_in_threadpool

from shotcrit.crit.records import Drawing, Id, Marker, Note
from shotcrit.deliver.exchange.incoming import MOST_BYTES
from shotcrit.room.http import READ, WRITE, Base, Here, Who
from shotcrit.room.notes.shapes import (
    AlongMark,
    Brought,
    DrawingPatch,
    MarkedFindings,
    MarkerPatch,
    Move,
    NewDrawing,
    NewMarker,
    NewNote,
    NewStrokes,
    NotePatch,
)
from shotcrit.room.shapes import Done

read = APIRouter(tags=["notes"], responses=READ)
write = APIRouter(tags=["notes"], responses=WRITE)


@read.get("/takes/{take_id}/notes")
def get_notes(take_id: Id, room: Here, find: Annotated[str, Query(max_length=200)] = "") -> list[Note]:
    """The notes of a take in the order they will be read; `find` keeps those whose words, person or weight hold it."""
    return room.notes.listed(take_id, find)


@write.post("/takes/{take_id}/notes", status_code=201)
def add_note(take_id: Id, body: NewNote, room: Here, who: Who) -> Note:
    """Write a note."""
    return room.notes.write(take_id, body, who)


@write.post("/takes/{take_id}/brought")
async def bring_notes(take_id: Id, file: UploadFile, room: Here, who: Who) -> Brought:
    """Bring in the notes and drawings of a file from another program, told apart by what its name ends in: one edit, or none."""
    return await run_in_threadpool(room.bringing.read, take_id, file.filename or "", await file.read(MOST_BYTES + 1), who)


@write.patch("/notes/{note_id}")
def change_note(note_id: Id, body: NotePatch, room: Here, who: Who) -> Note:
    """Change fields of a note. Another window's change to other fields is kept; to the same fields: 409."""
    return room.notes.change(note_id, body, who)


@write.post("/notes/{note_id}/move")
def move_note(note_id: Id, body: Move, room: Here, who: Who) -> list[Note]:
    """Put a note elsewhere in the order; answers with all notes of the take in their new order."""
    return room.notes.move(note_id, body, who)


@write.delete("/notes/{note_id}")
def delete_note(note_id: Id, room: Here, who: Who, version: Base = None) -> Done:
    """Delete a note. Its drawings stay on their frames."""
    return room.notes.delete(note_id, who, version)


@read.get("/takes/{take_id}/drawings")
def get_drawings(take_id: Id, room: Here) -> list[Drawing]:
    """The drawings of a take."""
    return room.drawings.listed(take_id)


@write.post("/takes/{take_id}/drawings", status_code=201)
def add_drawing(take_id: Id, body: NewDrawing, room: Here, who: Who) -> Drawing:
    """Draw on frames of a take. Strokes are raw pen points; the outline is the page's business."""
    return room.drawings.draw(take_id, body, who)


@write.patch("/drawings/{drawing_id}")
def change_drawing(drawing_id: Id, body: DrawingPatch, room: Here, who: Who) -> Drawing:
    """Replace the strokes of a drawing, or hold it over other frames."""
    return room.drawings.change(drawing_id, body, who)


@write.post("/drawings/{drawing_id}/strokes")
def add_strokes(drawing_id: Id, body: NewStrokes, room: Here, who: Who) -> Drawing:
    """Put strokes on top; never clashes."""
    return room.drawings.add_strokes(drawing_id, body, who)


@write.post("/drawings/{drawing_id}/along", status_code=201)
def copy_drawing_along(drawing_id: Id, body: AlongMark, room: Here, who: Who) -> list[Drawing]:
    """Copy a drawing to further frames, moved with a mark that was followed through the shot."""
    return room.drawings.copy_along(drawing_id, body, who)


@write.delete("/drawings/{drawing_id}")
def delete_drawing(drawing_id: Id, room: Here, who: Who, version: Base = None) -> Done:
    """Delete a drawing, also from the notes that show it."""
    return room.drawings.delete(drawing_id, who, version)


@read.get("/takes/{take_id}/markers")
def get_markers(take_id: Id, room: Here) -> list[MarkedFindings]:
    """The first-look markers, each with the findings that lie under it."""
    return room.markers.listed(take_id)


@write.post("/takes/{take_id}/markers", status_code=201)
def add_marker(take_id: Id, body: NewMarker, room: Here, who: Who) -> Marker:
    """First look: it bothered me here. The frame is drawn back by the reviewer's reaction time."""
    return room.markers.drop(take_id, body, who)


@write.patch("/markers/{marker_id}")
def change_marker(marker_id: Id, body: MarkerPatch, room: Here, who: Who) -> Marker:
    """Move a marker, or say what bothered."""
    return room.markers.change(marker_id, body, who)


@write.delete("/markers/{marker_id}")
def delete_marker(marker_id: Id, room: Here, who: Who, version: Base = None) -> Done:
    """Delete a marker."""
    return room.markers.delete(marker_id, who, version)
