"""Opening the room: one call that serves a crit until it is told to stop."""

from __future__ import annotations

import secrets
import socket
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import uvicorn

from shotcrit.errors import InputError
from shotcrit.measuring.characters import FOLDER
from shotcrit.room.app import LOCAL_NAMES, room_app
from shotcrit.room.connections import Connection
from shotcrit.room.guard import Guard
from shotcrit.room.local_worker import LocalWorker
from shotcrit.room.opening import open_crit
from shotcrit.room.passes import own_key
from shotcrit.room.room import Room
from shotcrit.room.worker import Worker

TOKEN_BYTES = 24
"""192 random bits."""
KEY_FILE = "room.key"
PORTS = range(49_152, 65_536)
"""Ports that nobody is given for good (RFC 6335, 6)."""
IDLE_S = 75
"""Seconds that an idle connection stays open: frames are fetched over the same one."""
BACKLOG = 128
"""Connections that may wait to be answered."""
LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})


class _Server(uvicorn.Server):
    """A server that answers who waits for news of the room before it waits for its answers to end."""

    def __init__(self, config: uvicorn.Config, room: Room) -> None:
        super().__init__(config)
        self._room = room

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._room.events.let_go()
        await super().shutdown(sockets)


@dataclass
class Serving:
    """A room that is being served. `address` holds the token: who has it may come in."""

    room: Room
    address: str
    port: int
    _server: uvicorn.Server
    _socket: socket.socket
    _guard: Guard

    def address_for_browser(self) -> str:
        """An address to start a browser with: it lets in once and soon, since the list of processes shows it to everybody on the computer."""
        return f"{self.address.partition('?')[0]}?ticket={self._guard.ticket()}"

    def run(self) -> None:
        """Serve in this thread until `stop` is called or Ctrl-C comes; then stop the jobs and close the crit."""
        try:
            self._server.run(sockets=[self._socket])
        finally:
            self.room.close()
            with suppress(OSError):
                self._socket.close()

    def run_aside(self) -> threading.Thread:
        """Serve in a thread of its own."""
        thread = threading.Thread(target=self.run, name="room", daemon=True)
        thread.start()
        return thread

    def stop(self) -> None:
        """Finish what is being answered, then end."""
        self._server.should_exit = True


def prepare(
    crit_path: Path,
    *,
    host: str = "127.0.0.1",
    port: int = 0,
    token: str | None = None,
    worker: Worker | None = None,
    habits: Path | None = None,
    roots: Sequence[Path] = (),
    hosts: Sequence[str] = (),
    team: bool = False,
) -> Serving:
    """Open a crit and bind the port, without serving yet.

    port : 0 = the one that this crit had when it was free, else any; token : None = a random one; hosts : further names under which browsers ask for this room
    roots : folders besides the crit's own from which takes may be added
    habits : file of the person's own settings; the key by which their browser comes in again lies beside it
    Raises InputError or StoreError, one sentence, when the crit cannot be opened or the port is taken.
    """
    secret = token or secrets.token_urlsafe(TOKEN_BYTES)
    bound = _bind(host, port) if port else _bind_usual(host, crit_path)
    try:
        crit = open_crit(crit_path, habits=habits, team=team)
    except BaseException:
        bound.close()
        raise
    folders = [crit_path.absolute().parent, *roots]
    room = Room(
        crit,
        worker or LocalWorker(characters=crit_path.absolute().parent / FOLDER),
        habits=habits,
        roots=folders,
        folders_free=host in LOOPBACK,
    )
    names = LOCAL_NAMES | {_in_address(name).lower() for name in (host, *hosts)}
    key = own_key(None if habits is None else habits.with_name(KEY_FILE))
    guard = room_app(room, token=secret, hosts=frozenset(names), key=key)
    config = uvicorn.Config(
        guard,
        http=Connection,
        log_level="warning",
        access_log=False,
        timeout_keep_alive=IDLE_S,
        timeout_graceful_shutdown=2,
        ws="websockets-sansio",
        # A JPEG does not get smaller, and takes a millisecond of trying.
        ws_per_message_deflate=False,
        server_header=False,
    )
    taken = bound.getsockname()[1]
    return Serving(room, f"http://{_in_address(host)}:{taken}/?token={secret}", taken, _Server(config, room), bound, guard)


def serve(crit_path: Path, *, opened: Callable[[Serving], None] | None = None, **options: object) -> None:
    """Serve a crit until Ctrl-C. opened: called once with the address known; options: as in `prepare`."""
    serving = prepare(crit_path, **options)  # type: ignore[arg-type]
    if opened is not None:
        opened(serving)
    serving.run()


def _in_address(host: str) -> str:
    return f"[{host}]" if ":" in host and not host.startswith("[") else host


def _bind_usual(host: str, crit_path: Path) -> socket.socket:
    """The port that follows from where the crit lies, so that a page that was open finds its room again; any free one when it is taken."""
    digest = int.from_bytes(sha256(str(crit_path.absolute()).encode("utf-8", "surrogateescape")).digest()[:4], "big")
    try:
        return _bind(host, PORTS.start + digest % len(PORTS))
    except InputError:
        return _bind(host, 0)


def _bind(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # With the protocol named, asyncio turns Nagle's waiting off on each connection; without it every frame waits 40 ms for an acknowledgement.
    bound = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    bound.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((host, port))
        # Listening from now on: a browser that is opened before the server runs waits for it.
        bound.listen(BACKLOG)
    except (OSError, OverflowError) as problem:
        bound.close()
        raise InputError(f"port {port} of {host} cannot be used ({problem}); choose another with --port") from problem
    return bound
