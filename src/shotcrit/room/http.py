"""What every route shares: the room itself, who edits, and which refusals a route may answer with."""

from __future__ import annotations

from typing import Annotated, Any, cast
from urllib.parse import unquote

from fastapi import Depends, Header, Query, Request

from shotcrit.room.room import Room
from shotcrit.room.shapes import Problem
from shotcrit.store.commit import MOST_EDITS

MOST_NAME = 200
"""Characters in a reviewer's name."""


def _room(request: Request) -> Room:
    return cast(Room, request.app.state.room)


def _who(
    request: Request,
    shotcrit_who: Annotated[str | None, Header(description="Name of the person who edits, percent-encoded UTF-8.", max_length=2000)] = None,
) -> str:
    name = unquote(shotcrit_who or "").strip()[:MOST_NAME]
    return name or _room(request).settings.reviewer()


Here = Annotated[Room, Depends(_room)]
Who = Annotated[str, Depends(_who)]
Base = Annotated[int | None, Query(ge=0, le=MOST_EDITS, description="The version that is meant; null deletes whatever is there.")]

Refusals = dict[int | str, dict[str, Any]]
REFUSALS = {
    403: ("NotLetIn", "The token is missing or wrong, or the request comes from another page."),
    404: ("NotHere", "The crit has no such thing."),
    422: ("NotRight", "The request is not what it should be; `says` tells what."),
    500: ("Unforeseen", "An error of ours that nobody foresaw; `says` names the report of it."),
    503: ("NotNow", "The crit file cannot be read just now, or what was asked for is not made yet."),
    400: ("NotReadable", "The body cannot be read at all."),
    411: ("NoLength", "The body does not say its length."),
    413: ("TooBig", "The body is too big."),
    409: ("ChangedMeanwhile", "The same thing was changed in another window; `current` is how it is now."),
    507: ("NotWritable", "The crit cannot be written (disk full, folder read-only); nothing was changed."),
}
"""Status -> name in the OpenAPI document, and what it means. Every one answers with a Problem."""


def _refusals(*statuses: int) -> Refusals:
    return {status: {"model": Problem, "description": REFUSALS[status][1]} for status in statuses}


READ = _refusals(403, 404, 422, 500, 503)
WRITE = READ | _refusals(400, 411, 413, 409, 507)
