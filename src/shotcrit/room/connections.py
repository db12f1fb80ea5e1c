"""Connections that stay open for nothing are closed: those that never ask, ask half, or whose other end is gone."""

from __future__ import annotations

import asyncio
import socket
from contextlib import suppress
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 30.0
"""Seconds in which the head of a request has to arrive whole (guess: a browser sends it at once, or opens a connection ahead of need)."""
BODY_S = 30.0
"""Seconds that a body may pause (guess)."""
KEEPALIVE = {"TCP_KEEPIDLE": 60, "TCP_KEEPINTVL": 15, "TCP_KEEPCNT": 4}
"""Seconds and tries after which the system gives up an end that no longer answers (RFC 9293, 3.8.4), where it lets them be set."""


class Connection(H11Protocol):
    """uvicorn's own, with a clock. Its keep-alive clock runs only after an answer, and stops at the first byte of the next request."""

    _clock: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        _notice_dead_ends(transport.get_extra_info("socket"))
        self._start(HEAD_S)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        state = self.conn.their_state
        if state is h11.SEND_BODY:
            self._start(BODY_S)
        elif state is h11.IDLE and self.timeout_keep_alive_task is None:
            # A head that began is not given more time by each byte of it.
            if self._clock is None:
                self._start(HEAD_S)
        elif state is not h11.IDLE:
            self._halt()

    def handle_websocket_upgrade(self, event: h11.Request) -> None:
        self._halt()
        super().handle_websocket_upgrade(event)

    def connection_lost(self, exc: Exception | None) -> None:
        self._halt()
        super().connection_lost(exc)

    def _start(self, seconds: float) -> None:
        self._halt()
        self._clock = self.loop.call_later(seconds, self.transport.close)

    def _halt(self) -> None:
        if self._clock is not None:
            self._clock.cancel()
            self._clock = None


def _notice_dead_ends(connection: Any) -> None:
    """Have the system ask an end that says nothing whether it is still there."""
    with suppress(OSError, AttributeError):
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        for name, value in KEEPALIVE.items():
            if hasattr(socket, name):
                connection.setsockopt(socket.IPPROTO_TCP, getattr(socket, name), value)
