"""Pictures over one WebSocket: for the browser each costs a third of what a request of its own does (measured)."""

from __future__ import annotations

import asyncio
from contextlib import suppress

from starlette.websockets import WebSocket, WebSocketDisconnect

from shotcrit.crit.view import NotHere
from shotcrit.errors import ShotcritError
from shotcrit.room.frames.service import Frames

INDEX_BYTES = 4
"""Little-endian, before each picture; alone when there is no picture yet."""
NO_SUCH_TAKE, NO_INDEX = 4404, 4400
"""WebSocket close codes from the range left to applications (RFC 6455, 7.4.2)."""
MOST_WAITING = 64
"""Pictures being made that one line may wait for; a page asks for six at once (guess)."""


async def serve_frames(socket: WebSocket, frames: Frames, take_id: str) -> None:
    """Answer frame indices with pictures until the page goes; one that is still being made holds up no other."""
    try:
        built = await asyncio.to_thread(frames.built, take_id)
    except NotHere:
        await socket.close(NO_SUCH_TAKE)
        return
    await socket.accept()
    turns = asyncio.Semaphore(MOST_WAITING)
    try:
        async with asyncio.TaskGroup() as making:
            while (index := _index(await socket.receive_text(), len(built.files))) is not None:
                # Read here and not in a thread: a page-cached file of 100 kB takes less time than the way to a thread and back.
                data = built.read(index)
                if data is not None:
                    await _send(socket, index, data)
                    continue
                await turns.acquire()
                making.create_task(_make(socket, frames, take_id, index)).add_done_callback(lambda _: turns.release())
            await socket.close(NO_INDEX)
    except* WebSocketDisconnect:
        pass


def _index(text: str, frames: int) -> int | None:
    """The frame asked for, None for what is no frame of this take."""
    index = int(text) if text.isascii() and text.isdecimal() and len(text) <= len(str(frames)) else frames
    return index if index < frames else None


async def _make(socket: WebSocket, frames: Frames, take_id: str, index: int) -> None:
    """Make a picture and send it; the index alone when it cannot be made now. A page that went meanwhile gets nothing."""
    data = b""
    with suppress(ShotcritError):
        data = await frames.picture(take_id, index, None)
    with suppress(RuntimeError, WebSocketDisconnect):
        await _send(socket, index, data)


async def _send(socket: WebSocket, index: int, data: bytes) -> None:
    await socket.send_bytes(index.to_bytes(INDEX_BYTES, "little") + data)
