"""What happens, as it happens: over a WebSocket, or by asking for it where sockets are blocked."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, WebSocket

from shotcrit.room.events.shapes import Events
from shotcrit.room.http import READ, Here
from shotcrit.store.commit import MOST_EDITS

LONGEST_WAIT_S = 30.0
"""Seconds that a request for events may wait for the next one."""

read = APIRouter(tags=["events"], responses=READ)


@read.get("/events")
async def get_events(
    room: Here,
    after: Annotated[int, Query(ge=0, le=MOST_EDITS)] = 0,
    wait: Annotated[float, Query(ge=0, le=LONGEST_WAIT_S, description="Seconds to wait for the next event.")] = 0,
) -> Events:
    """Events after number `after`. The WebSocket at the same address sends each as one JSON text, as they happen."""
    return await room.events.after(after, wait)


@read.websocket("/events")
async def push_events(socket: WebSocket) -> None:
    """Every event as one JSON text: `{"n": number, "event": {...}}`. Nothing is read from the page."""
    await socket.app.state.room.events.serve(socket)
