"""The web application: routes, refusals, and the guard in front."""

from __future__ import annotations

from fastapi import APIRouter, FastAPI
from fastapi.routing import APIRoute

import shotcrit
from shotcrit.room.desk_room import Room
from shotcrit.room.routes import crit, events, measured, media, notes, sending, takes

ABOUT = """The room over one crit.

Frames are indices from 0 and ranges include both ends; people see them with the take's first_frame added.
Times are seconds from the first picture. Positions are fractions of the picture's width and height, origin top left.
A change carries the version of the thing that it starts from: changes of different fields are both kept,
changes of the same field answer 409 with the thing as it is now.
Every request carries the room's token, as the cookie that the first page sets or as `Authorization: Bearer`."""


def _operation(route: APIRoute) -> str:
    return route.name


def api_routes() -> APIRouter:
    """All routes that are described in the OpenAPI document."""
    whole = APIRouter()
    for part in (crit, takes, measured, notes, sending, events):
        for router in (part.read, *([part.write] if hasattr(part, "write") else [])):
            whole.include_router(router, prefix="/api")
    whole.include_router(media.read)
    return whole


def bare_app(room: Room | None) -> FastAPI:
    """The application without its guard."""
    app = FastAPI(
        title="Shotcrit room",
        version=shotcrit.__version__,
        description=ABOUT,
        generate_unique_id_function=_operation,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
    )
    app.state.room = room
    app.include_router(api_routes())
    return app
