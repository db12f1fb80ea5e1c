"""The web application: routes, refusals as one sentence each, the built page, and the guard in front."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path

from fastapi import APIRouter, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, JSONResponse, Response
from fastapi.routing import APIRoute
from pydantic import ValidationError
from starlette.exceptions import HTTPException
from starlette.routing import BaseRoute

import shotcrit
from shotcrit.checks.registry import all_checks
from shotcrit.crit.edits import Clash
from shotcrit.crit.view import NotHere
from shotcrit.errors import MissingExtra, ShotcritError
from shotcrit.room.cast import routes as cast
from shotcrit.room.caught import Caught
from shotcrit.room.events import routes as events
from shotcrit.room.frames import routes as frames
from shotcrit.room.guard import Guard
from shotcrit.room.history import routes as history
from shotcrit.room.jobs import routes as jobs
from shotcrit.room.judging import routes as judging
from shotcrit.room.measured import routes as measured
from shotcrit.room.notes import routes as notes
from shotcrit.room.passes import own_key, pass_for
from shotcrit.room.room import Room
from shotcrit.room.sending import routes as sending
from shotcrit.room.settings import routes as settings
from shotcrit.room.shapes import Problem
from shotcrit.room.sheet import routes as sheet
from shotcrit.room.takes import routes as takes
from shotcrit.store.errors import Blocked, StoreBusy, StoreClosed, StoreError

ABOUT = """The room over one crit.

Frames are indices from 0 and ranges include both ends; people see them with the take's first_frame added.
Times are seconds from the first picture. Positions are fractions of the picture's width and height, origin top left.
A change carries the version of the thing that it starts from: changes of different fields are both kept,
changes of the same field answer 409 with the thing as it is now.
Every request carries the room's token, as the cookie that the first page sets or as `Authorization: Bearer`."""
STATIC = Path(__file__).parent / "static"
"""The page, built from web/."""
LOCAL_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})
RETRY_S = "1"
STATUS: tuple[tuple[type[ShotcritError], int], ...] = (
    (NotHere, 404),
    (Clash, 409),
    (Blocked, 409),
    (StoreError, 507),
    (StoreBusy, 503),
    (StoreClosed, 503),
    (MissingExtra, 503),
    (ShotcritError, 422),
)
"""The first that fits gives the status."""


def _operation(route: APIRoute) -> str:
    return route.name


@cache
def api_routes() -> tuple[BaseRoute, ...]:
    """All routes that are described in the OpenAPI document.

    Made once: they are alike for every room of a process, and what each of them takes and answers is worked out in a third of a second.
    """
    whole = APIRouter(generate_unique_id_function=_operation)
    for part in (history, settings, takes, cast, measured, judging, notes, sending, jobs):
        whole.include_router(part.read, prefix="/api")
        whole.include_router(part.write, prefix="/api")
    whole.include_router(sheet.read, prefix="/api")
    whole.include_router(events.read, prefix="/api")
    whole.include_router(frames.read)
    whole.include_router(frames.write)
    return tuple(whole.routes)


def bare_app(room: Room | None) -> FastAPI:
    """The application without its guard. None: for its description alone."""

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        _get_ready(app)
        if room is not None:
            room.events.attach_here()
        yield
        if room is not None:
            room.events.detach()

    app = FastAPI(
        title="Shotcrit room",
        version=shotcrit.__version__,
        description=ABOUT,
        generate_unique_id_function=_operation,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=lifespan,
    )
    app.state.room = room
    app.router.routes.extend(api_routes())
    app.add_exception_handler(ShotcritError, _refuse)
    app.add_exception_handler(RequestValidationError, _refuse_request)
    app.add_exception_handler(ValidationError, _refuse_request)
    app.add_exception_handler(HTTPException, _refuse_plain)
    app.add_middleware(Caught)
    return app


def _get_ready(app: FastAPI) -> None:
    """What would else be done for the first request, nearly half a second of it, is done while the browser is still starting."""
    all_checks()
    for route in app.router.routes:
        route.matches({"type": "http", "method": "GET", "path": "/api/", "root_path": "", "headers": []})


def room_app(room: Room, *, token: str, hosts: frozenset[str] = LOCAL_NAMES, static: Path = STATIC, key: bytes | None = None) -> Guard:
    """The whole application. hosts: names under which it may be asked for; key: the person's, by which a browser comes in again (None: this time only)."""
    app = bare_app(room)
    app.router.add_route("/", _page(static / "index.html", "no-cache"), include_in_schema=False)
    app.router.add_route("/{name:path}", _asset(static), include_in_schema=False)
    return Guard(app, token=token, hosts=hosts, cookie=pass_for(room.crit.crit_id(), own_key(None) if key is None else key))


Answer = Callable[[Request], Awaitable[Response]]


def _page(path: Path, caching: str) -> Answer:
    async def page(_request: Request) -> Response:
        if not path.is_file():
            return _problem(503, Problem(says="the page is not built; run `make web`, or install Shotcrit as a package"))
        return FileResponse(path, headers={"Cache-Control": caching})

    return page


def _asset(static: Path) -> Answer:
    """Files of the page by exact name; the list is made by looking into the folder, so no path of the disk can be spelt."""

    async def asset(request: Request) -> Response:
        files = {p.relative_to(static).as_posix(): p for p in static.rglob("*") if p.is_file()}
        path = files.get(request.path_params["name"])
        if path is None:
            return _problem(404, Problem(says="there is no such page"))
        # Built names carry a hash of their content.
        caching = "private, max-age=31536000, immutable" if path.parent.name == "assets" else "no-cache"
        return FileResponse(path, headers={"Cache-Control": caching})

    return asset


def _problem(status: int, problem: Problem, headers: dict[str, str] | None = None) -> JSONResponse:
    return JSONResponse(problem.model_dump(mode="json"), status, headers)


async def _refuse(_request: Request, error: Exception) -> Response:
    status = next((code for kind, code in STATUS if isinstance(error, kind)), 422)
    headers = {"Retry-After": RETRY_S} if status == 503 else None
    if isinstance(error, Clash):
        current = error.current.model_dump(mode="json", by_alias=True) if error.current else None
        return _problem(status, Problem(says=str(error), kind=error.kind, current=current))
    return _problem(status, Problem(says=str(error)), headers)


async def _refuse_request(_request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError | ValidationError)
    first = error.errors()[0] if error.errors() else {"loc": (), "msg": "it cannot be read"}
    where = ".".join(str(part) for part in first["loc"] if part != "body") or "the request"
    said = str(first["msg"]).removeprefix("Value error, ").lower()
    return _problem(422, Problem(says=f"{where} is not right ({said}); mend it and send it again"))


async def _refuse_plain(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    headers = dict(error.headers) if error.headers else None
    return _problem(error.status_code, Problem(says=str(error.detail).lower()), headers)
