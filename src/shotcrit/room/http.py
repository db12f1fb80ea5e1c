"""What every route shares: the room itself, who edits, and which refusals a route may answer with."""

from __future__ import annotations

from typing import Annotated, Any, cast
from urllib.parse import unquote

from fastapi import Depends, Header, Request

from shotcrit.room.desk_room import Room
from shotcrit.room.shapes.common import Problem

MOST_NAME = 200
"""Characters in a reviewer's name."""


def _room(request: Request) -> Room:
    return cast(Room, request.app.state.room)


def _who(
    request: Request,
    shotcrit_who: Annotated[str | None, Header(description="Name of the person who edits, percent-encoded UTF-8.", max_length=2000)] = None,
) -> str:
    name = unquote(shotcrit_who or "").strip()[:MOST_NAME]
    return name or cast(Room, request.app.state.room).reviewer()


Here = Annotated[Room, Depends(_room)]
Who = Annotated[str, Depends(_who)]

Refusals = dict[int | str, dict[str, Any]]
READ: Refusals = {
    403: {"model": Problem, "description": "The token is missing or wrong, or the request comes from another page."},
    404: {"model": Problem, "description": "The crit has no such thing."},
    422: {"model": Problem, "description": "The request is not what it should be; `says` tells what."},
    500: {"model": Problem, "description": "An error of ours that nobody foresaw; `says` names the report of it."},
    503: {"model": Problem, "description": "The crit file cannot be read just now, or what was asked for is not made yet."},
}
WRITE: Refusals = {
    **READ,
    400: {"model": Problem, "description": "The body cannot be read at all."},
    411: {"model": Problem, "description": "The body does not say its length."},
    413: {"model": Problem, "description": "The body is too big."},
    409: {"model": Problem, "description": "The same thing was changed in another window; `current` is how it is now."},
    507: {"model": Problem, "description": "The crit cannot be written (disk full, folder read-only); nothing was changed."},
}
