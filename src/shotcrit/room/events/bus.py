"""Telling every window what happens: numbered events, pushed over WebSockets or fetched by those who cannot have one."""

from __future__ import annotations

import asyncio
import json
from collections import deque
from contextlib import suppress

from starlette.websockets import WebSocket, WebSocketDisconnect

from shotcrit.room.events.shapes import Event, Events

REMEMBERED = 2_000
"""Events kept for windows that ask later; who asks for older ones is told to fetch the crit again."""
FULL = 4_000
"""Events waiting for one slow window; beyond, it is told that it missed some."""
PING_S = 2.0
"""Seconds of silence after which a socket gets an empty message: the page says within three of these that the room has gone (guess)."""

Numbered = tuple[int, Event]


class Bus:
    """Events of one room. `post` may be called from any thread."""

    def __init__(self) -> None:
        self._recent: deque[Numbered] = deque(maxlen=REMEMBERED)
        self._last = 0
        self._loop: asyncio.AbstractEventLoop | None = None
        self._windows: set[asyncio.Queue[Numbered | None]] = set()
        self._asking: set[asyncio.Queue[Numbered | None]] = set()
        self._closing = False

    def attach_here(self) -> None:
        """From now on events are handed out on the loop that runs just now."""
        self._loop = asyncio.get_running_loop()
        self._closing = False

    def detach(self) -> None:
        """No loop any more: events are only remembered."""
        self._loop = None

    @property
    def waiting(self) -> int:
        """How many requests wait for the next event."""
        return len(self._asking)

    def let_go(self) -> None:
        """Answer all who wait for the next event, and make nobody wait from now on: the room closes. Called on the loop that attached."""
        self._closing = True
        for window in self._asking:
            with suppress(asyncio.QueueFull):
                window.put_nowait(None)

    def post(self, event: Event) -> None:
        """Tell all windows."""
        loop = self._loop
        if loop is None or loop.is_closed():
            self._hand_out(event)
            return
        # The loop may close between the question and the call; nobody is listening then.
        with suppress(RuntimeError):
            loop.call_soon_threadsafe(self._hand_out, event)

    def _hand_out(self, event: Event) -> None:
        self._last += 1
        numbered = (self._last, event)
        self._recent.append(numbered)
        for window in self._windows:
            with suppress(asyncio.QueueFull):
                window.put_nowait(numbered)

    async def after(self, number: int, wait_s: float) -> Events:
        """Events later than `number`; waits up to `wait_s` seconds for the first, or until the room closes."""
        if number >= self._last and wait_s > 0 and not self._closing:
            await self._next(wait_s)
        oldest = self._recent[0][0] if self._recent else self._last + 1
        missed = number > self._last or (number < oldest - 1 and number < self._last)
        return Events(last=self._last, missed=missed, events=[event for n, event in self._recent if n > number])

    async def _next(self, wait_s: float) -> None:
        window: asyncio.Queue[Numbered | None] = asyncio.Queue(1)
        self._windows.add(window)
        self._asking.add(window)
        try:
            with suppress(TimeoutError):
                await asyncio.wait_for(window.get(), wait_s)
        finally:
            self._windows.discard(window)
            self._asking.discard(window)

    async def serve(self, socket: WebSocket) -> None:
        """Push events into a WebSocket until it goes away."""
        await socket.accept()
        window: asyncio.Queue[Numbered | None] = asyncio.Queue(FULL)
        self._windows.add(window)
        reader = asyncio.create_task(_until_gone(socket, window))
        try:
            await self._push(socket, window)
        except (WebSocketDisconnect, RuntimeError):
            pass  # the window was closed while we wrote
        finally:
            self._windows.discard(window)
            reader.cancel()

    async def _push(self, socket: WebSocket, window: asyncio.Queue[Numbered | None]) -> None:
        await socket.send_text(json.dumps({"n": self._last, "event": None}))
        while True:
            try:
                numbered = await asyncio.wait_for(window.get(), PING_S)
            except TimeoutError:
                await socket.send_text(json.dumps({"n": self._last, "event": None}))
                continue
            if numbered is None:
                return
            await socket.send_text(json.dumps({"n": numbered[0], "event": numbered[1].model_dump(mode="json", by_alias=True)}))


async def _until_gone(socket: WebSocket, window: asyncio.Queue[Numbered | None]) -> None:
    """Reads what the page sends and drops it; ends the pushing when the page goes."""
    with suppress(WebSocketDisconnect, RuntimeError):
        while True:
            await socket.receive_text()
    while window.full():
        window.get_nowait()
    window.put_nowait(None)
