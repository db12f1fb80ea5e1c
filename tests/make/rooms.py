"""Rooms to test in: a crit on a small real film of 'Lantern 040', asked in this process without a network."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from shotcrit.media.info import MovieInfo
from shotcrit.room.app import room_app
from shotcrit.room.opening import add_movie, open_crit
from shotcrit.room.room import Room
from tests.make import films
from tests.make.measured import FRAMES
from tests.make.worker import MadeWorker

TOKEN = "not-so-secret"
PATIENCE_S = 300
"""The longest that a test waits for what it asks for."""


def until(question: Callable[[], Any]) -> Any:
    """What `question` answers once it is true."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if answer := question():
            return answer
        time.sleep(0.05)
    raise AssertionError("waited too long")


def lantern_film(folder: Path) -> Path:
    """A film of as many numbered frames as make/measured.py speaks of, with a tone."""
    return films.make_film(folder / "lantern_040.mp4", films.numbered(FRAMES, size=(96, 54)), sound=films.tone(11), gop=12)


class Guest:
    """A client of one room. Calls answer with decoded JSON, after checking the status."""

    def __init__(self, room: Room, client: TestClient, take: str) -> None:
        self.room = room
        self.client = client
        self.take = take

    def get(self, path: str, status: int = 200) -> Any:
        return self._call("GET", path, None, status)

    def post(self, path: str, body: Any = None, status: int = 201) -> Any:
        return self._call("POST", path, body, status)

    def patch(self, path: str, body: Any, status: int = 200) -> Any:
        return self._call("PATCH", path, body, status)

    def put(self, path: str, body: Any, status: int = 200) -> Any:
        return self._call("PUT", path, body, status)

    def delete(self, path: str, status: int = 200) -> Any:
        return self._call("DELETE", path, None, status)

    def _call(self, method: str, path: str, body: Any, status: int) -> Any:
        answer = self.client.request(method, path.replace("TAKE", self.take), json=body)
        assert answer.status_code == status, f"{method} {path}: {answer.status_code} {answer.text[:300]}"
        return answer.json() if answer.content else None


@lru_cache(maxsize=8)
def _looked_at(film: Path, _stamp: int) -> MovieInfo:
    """A film is opened once for all rooms."""
    return MadeWorker().look_at(film, first_frame=1001)[0]


@contextmanager
def guest(film: Path, folder: Path, *, worker: MadeWorker | None = None, habits: Path | None = None, **more: Any) -> Iterator[Guest]:
    """A room on a new crit in `folder`, and a guest who has its token."""
    maker = worker or MadeWorker(cache=film.parent / "cache")
    crit = open_crit(folder / "lantern_040.crit", habits=habits)
    take = add_movie(crit, _looked_at(film, film.stat().st_mtime_ns))
    room = Room(crit, maker, habits=habits, **{"roots": [folder], **more})
    with TestClient(room_app(room, token=TOKEN, hosts=frozenset({"room"})), base_url="http://room") as client:
        client.headers["Authorization"] = f"Bearer {TOKEN}"
        try:
            yield Guest(room, client, take.id)
        finally:
            room.close()
