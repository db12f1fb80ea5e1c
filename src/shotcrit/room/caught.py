"""Errors that nobody foresaw, on their way out of the application: answered in a sentence that names the report."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shotcrit.room.shapes import Problem
from shotcrit.unforeseen import unforeseen

BROKE_OFF = 1011
"""WebSocket close code of an unexpected condition (RFC 6455, 7.4.1)."""


class Caught:
    """ASGI middleware. An answer that was begun cannot be changed into a refusal; it is left as it is, cut off."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        begun = False

        async def watched(message: Message) -> None:
            nonlocal begun
            begun = begun or message["type"] == "http.response.start"
            await send(message)

        try:
            await self._app(scope, receive, watched)
        except Exception as problem:
            told = await run_in_threadpool(unforeseen, problem)
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": BROKE_OFF})
            elif scope["type"] == "http" and not begun:
                await JSONResponse(Problem(says=str(told)).model_dump(mode="json"), 500)(scope, receive, send)
            elif scope["type"] == "lifespan":
                raise
