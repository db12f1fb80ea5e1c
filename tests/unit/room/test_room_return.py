"""Coming in again after the room was opened anew, starting a browser without giving the token away, connections that ask for nothing."""

from __future__ import annotations

import http.client
import json
import socket
import stat
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from tests.make.rooms import until
from tests.make.worker import MadeWorker

from shotcrit.room import connections, guard
from shotcrit.room.passes import own_key, pass_for
from shotcrit.room.serve import Serving, prepare

PATIENCE_S = 120


@contextmanager
def _open(folder: Path, *, habits: Path | None = None) -> Iterator[Serving]:
    serving = prepare(folder / "lantern.crit", worker=MadeWorker(cache=folder / "cache"), habits=habits)
    thread = serving.run_aside()
    try:
        yield serving
    finally:
        serving.stop()
        thread.join(PATIENCE_S)


@dataclass(frozen=True)
class Got:
    status: int
    kind: str
    cookie: str
    text: str


def _get(serving: Serving, address: str, **headers: str) -> Got:
    parts = urlsplit(address)
    with closing(http.client.HTTPConnection("127.0.0.1", serving.port, timeout=PATIENCE_S)) as asked:
        asked.request("GET", parts.path + (f"?{parts.query}" if parts.query else ""), headers=headers)
        answer = asked.getresponse()
        cookie = str(answer.getheader("set-cookie")).partition(";")[0]
        return Got(answer.status, str(answer.getheader("content-type")), cookie, answer.read().decode())


def test_a_page_that_was_open_comes_in_again_after_a_restart(tmp_path: Path) -> None:
    habits = tmp_path / "me" / "habits.json"
    with _open(tmp_path, habits=habits) as first:
        cookie, port, printed = _get(first, first.address).cookie, first.port, first.address
    with _open(tmp_path, habits=habits) as again:
        assert again.port == port, "a reload asks at the same door"
        assert again.address != printed
        assert _get(again, "/api/crit", Cookie=cookie).status == 200
        assert _get(again, printed).status == 403, "the address that was printed before lets nobody in"
    assert stat.S_IMODE((tmp_path / "me" / "room.key").stat().st_mode) == 0o600


def test_nobody_elses_browser_and_no_other_crits_room_lets_it_in(tmp_path: Path) -> None:
    with _open(tmp_path, habits=tmp_path / "me" / "habits.json") as mine:
        cookie = _get(mine, mine.address).cookie
    with _open(tmp_path, habits=tmp_path / "you" / "habits.json") as yours:
        assert _get(yours, "/api/crit", Cookie=cookie).status == 403
    assert pass_for("c1", b"k") != pass_for("c2", b"k")
    assert "c1" not in pass_for("c1", b"k").value


def test_a_key_that_was_cut_off_or_cannot_be_kept_serves_once(tmp_path: Path) -> None:
    key = tmp_path / "room.key"
    assert own_key(key) == own_key(key)
    key.write_bytes(b"short")
    assert len(own_key(key)) == 32
    assert len(own_key(tmp_path / "room.key" / "below")) == 32


def test_who_is_not_let_in_reads_a_sentence_and_a_program_reads_json(tmp_path: Path) -> None:
    with _open(tmp_path) as serving:
        page = _get(serving, "/", Accept="text/html,application/xhtml+xml")
        assert (page.status, page.kind) == (403, "text/html; charset=utf-8")
        assert "open the address that the room printed" in page.text
        assert "{" not in page.text.partition("<p>")[2]
        assert _get(serving, "/api/crit").kind == "application/json"


def test_the_browser_is_started_with_what_lets_in_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with _open(tmp_path) as serving:
        token = urlsplit(serving.address).query.removeprefix("token=")
        shown = serving.address_for_browser()
        assert token not in shown
        assert _get(serving, shown).status == 200
        assert _get(serving, shown).status == 403, "it is spent"
        monkeypatch.setattr(guard, "TICKET_S", 0.0)
        assert _get(serving, serving.address_for_browser()).status == 403, "it is only for soon"
        assert _get(serving, "/?ticket=").status == 403


def _closed_after(serving: Serving, said: bytes) -> float:
    """Seconds until the room closes a connection on which only this was said."""
    begun = time.monotonic()  # the room's clock cannot have begun before
    with socket.create_connection(("127.0.0.1", serving.port), timeout=PATIENCE_S) as line:
        line.sendall(said)
        with suppress(ConnectionResetError):
            while line.recv(4096):
                pass
        return time.monotonic() - begun


@pytest.mark.parametrize(
    "said",
    [
        b"",
        b"GET / HTTP/1.1\r\nHost: 127.0",
        b"POST /api/send HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer TOKEN\r\nContent-Length: 50\r\n\r\n{",
    ],
    ids=["nothing", "half a head", "half a body"],
)
def test_a_connection_that_asks_half_is_closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: bytes) -> None:
    monkeypatch.setattr(connections, "HEAD_S", 0.3)
    monkeypatch.setattr(connections, "BODY_S", 0.3)
    with _open(tmp_path) as serving:
        token = urlsplit(serving.address).query.removeprefix("token=").encode()
        assert 0.2 < _closed_after(serving, said.replace(b"TOKEN", token)) < 25, "sooner than the 30 s that it has outside of tests"


def test_a_connection_that_asks_whole_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It asks again after longer than the head of a request may take; a head takes no second even on a machine that does much else."""
    monkeypatch.setattr(connections, "HEAD_S", 2.0)
    with _open(tmp_path) as serving:
        cookie = _get(serving, serving.address).cookie
        asked = http.client.HTTPConnection("127.0.0.1", serving.port, timeout=PATIENCE_S)
        asked.request("GET", "/api/crit", headers={"Cookie": cookie})
        assert asked.getresponse().read()
        over = asked.sock
        time.sleep(2.2)
        asked.request("GET", "/api/crit", headers={"Cookie": cookie})
        assert asked.getresponse().read()
        assert asked.sock is over
        asked.close()


def test_who_waits_for_news_is_answered_when_the_room_closes(tmp_path: Path) -> None:
    with _open(tmp_path, habits=tmp_path / "me" / "habits.json") as serving:
        cookie = _get(serving, serving.address).cookie
        asking = ThreadPoolExecutor(1).submit(_get, serving, "/api/events?after=0&wait=20", Cookie=cookie)
        until(lambda: serving.room.events.waiting)
    got = asking.result(PATIENCE_S)
    assert (got.status, json.loads(got.text)["events"]) == (200, [])
