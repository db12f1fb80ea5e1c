"""The sheet, the track reading, and marks as far as they are followed."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from shotcrit.crit.records import Id
from shotcrit.room.http import READ, Here
from shotcrit.room.sheet.shapes import Followed, Sheet

read = APIRouter(tags=["sheet"], responses=READ)
_GRID: dict[int | str, dict[str, Any]] = {200: {"content": {"text/plain": {}}, "description": "A TextGrid, UTF-8."}}


@read.get("/takes/{take_id}/sheet")
def get_sheet(take_id: Id, room: Here) -> Sheet:
    """Everything the sheet shows. Before the first measurement: the frames alone, and `measured` is false."""
    return room.sheets.sheet(take_id)


@read.get("/takes/{take_id}/track.TextGrid", responses=_GRID, response_class=Response)
def get_track_reading(take_id: Id, room: Here) -> Response:
    """Words, phones and breaths as tiers, as they stand on the sheet."""
    name, text = room.sheets.track_reading(take_id)
    return Response(text, media_type="text/plain", headers={"Content-Disposition": f"attachment; filename*=UTF-8''{quote(name)}"})


@read.get("/takes/{take_id}/following")
def get_following(take_id: Id, room: Here) -> Followed:
    """The tracks of marks as far as they are followed just now."""
    return room.sheets.following(take_id)
