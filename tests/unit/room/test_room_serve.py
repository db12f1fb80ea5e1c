"""The room over a real socket: address, token, frames over one connection, events, and a clean end."""

from __future__ import annotations

import http.client
import json
import os
import socket
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from tests.make.worker import MadeWorker
from websockets.sync.client import connect

from shotcrit.crit.records import Take
from shotcrit.errors import InputError
from shotcrit.readings.cast import Cast, Character, Placed
from shotcrit.room.opening import add_movie, crit_beside, known_take, open_crit
from shotcrit.room.serve import prepare

CAST_FROM_ONE = Cast(characters=(Character(name="Ada", marks={"nose": (Placed(frame=2, x=0.5, y=0.4),)}),))
PATIENCE_S = 60
MOST_EVENTS = 500
"""Frames are being built meanwhile, of which a window hears too."""


def test_a_room_is_served_and_ends_without_leaving_anything(film: Path, tmp_path: Path) -> None:
    worker = MadeWorker(cache=film.parent / "cache")
    serving = prepare(tmp_path / "lantern.crit", worker=worker)
    take = add_movie(serving.room.crit, worker.look_at(film)[0])
    thread = serving.run_aside()
    asked = http.client.HTTPConnection("127.0.0.1", serving.port, timeout=PATIENCE_S)
    try:
        address = urlsplit(serving.address)
        assert address.hostname == "127.0.0.1"
        asked.request("GET", f"/?{address.query}")
        welcome = asked.getresponse()
        welcome.read()
        cookie = str(welcome.getheader("set-cookie")).partition(";")[0]
        over = asked.sock
        for index in (3, 4, 5):
            asked.request("GET", f"/frame/{take.id}/{index}.jpg", headers={"Cookie": cookie})
            assert asked.getresponse().read().startswith(b"\xff\xd8\xff")
        assert asked.sock is over, "frames come over one connection that is kept open"
        headers = {"Authorization": f"Bearer {address.query.removeprefix('token=')}"}
        with connect(f"ws://127.0.0.1:{serving.port}/frame/{take.id}", additional_headers=headers, open_timeout=PATIENCE_S) as line:
            line.send("5")
            told = line.recv(PATIENCE_S)
        asked.request("GET", f"/frame/{take.id}/5.jpg", headers=headers)
        assert told == (5).to_bytes(4, "little") + asked.getresponse().read(), "a picture is the same by request and by socket"
        with connect(f"ws://127.0.0.1:{serving.port}/api/events", additional_headers=headers, open_timeout=PATIENCE_S) as window:
            assert json.loads(window.recv(PATIENCE_S))["event"] is None
            body = json.dumps({"reaction_ms": 200})
            asked.request("PATCH", "/api/settings", body, {**headers, "Content-Type": "application/json"})
            answer = asked.getresponse()
            answer.read()
            assert answer.status == 200
            heard = (json.loads(window.recv(PATIENCE_S))["event"] for _ in range(MOST_EVENTS))
            assert next(event["label"] for event in heard if event["type"] == "edit") == "change settings"
    finally:
        asked.close()
        serving.stop()
        thread.join(PATIENCE_S)
    assert not thread.is_alive()
    assert os.listdir(tmp_path) == ["lantern.crit"]


def test_small_answers_do_not_wait_for_an_acknowledgement(tmp_path: Path) -> None:
    """asyncio turns Nagle's algorithm off only on sockets that name their protocol; a frame took 40 ms longer without it."""
    serving = prepare(tmp_path / "a.crit", worker=MadeWorker(cache=tmp_path))
    assert serving._socket.proto == socket.IPPROTO_TCP
    assert serving._socket.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) != 0
    serving.room.close()
    serving._socket.close()


def test_a_port_that_is_taken_is_one_sentence_and_the_crit_is_let_go(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(InputError, match="choose another with --port"):
            prepare(tmp_path / "a.crit", port=other.getsockname()[1], worker=MadeWorker(cache=tmp_path))
    assert os.listdir(tmp_path) == []


def test_each_room_has_a_token_of_its_own(tmp_path: Path) -> None:
    rooms = [prepare(tmp_path / f"{n}.crit", worker=MadeWorker(cache=tmp_path)) for n in "ab"]
    tokens = {urlsplit(room.address).query for room in rooms}
    for room in rooms:
        room.room.close()
        room._socket.close()
    assert len(tokens) == 2
    assert all(len(token) > 30 for token in tokens)


@pytest.mark.parametrize(
    ("movie", "crit"),
    [
        ("lantern_040.mov", "lantern_040.crit"),
        ("shot.####.png", "shot.crit"),
        ("a_%04d.exr", "a.crit"),
        ("####.png", "shot.crit"),
        ("lantern_040.####.png", "lantern_040.crit"),
    ],
)
def test_the_crit_of_a_movie_lies_beside_it(movie: str, crit: str) -> None:
    assert crit_beside(Path("/films") / movie) == Path("/films") / crit


def test_opening_the_same_movie_again_adds_no_take_and_nothing_to_undo(film: Path, tmp_path: Path) -> None:
    info, _ = MadeWorker(cache=tmp_path).look_at(film)
    for lines in (None, "Oona: But you promised me."):
        with open_crit(tmp_path / "lantern.crit") as crit:
            take = add_movie(crit, info, lines=lines)
            with crit.view() as view:
                assert view.next_undo(None) is None
    assert (take.number, take.lines) == (1, "Oona: But you promised me.")
    with pytest.raises(InputError, match=r"ends in \.crit"):
        open_crit(tmp_path / "lantern.mov")


def test_a_movie_that_lies_where_it_lay_is_known_without_being_read(film: Path, tmp_path: Path) -> None:
    movie, crit_path = tmp_path / "kite.mp4", tmp_path / "kite.crit"
    movie.write_bytes(film.read_bytes())
    assert known_take(crit_path, movie) is None
    with open_crit(crit_path) as crit:
        take = add_movie(crit, MadeWorker(cache=tmp_path / "cache").look_at(movie)[0])
    assert known_take(crit_path, movie) == take.id
    with open_crit(crit_path) as crit:
        add_movie(crit, take.id, lines="Ada: Look, a kite.", first_frame=1001)
        with crit.view() as view:
            given = view.get(Take, take.id)
    assert given is not None
    assert (given.lines, given.first_frame, given.sha256) == ("Ada: Look, a kite.", 1001, take.sha256)
    with open_crit(crit_path) as crit:
        again = add_movie(crit, take.id, cast=CAST_FROM_ONE, cast_from=1, count_from=1003, medium="blocking")
    assert again.cast.characters[0].marks["nose"][0].frame == 1002
    assert again.counts is not None
    assert (again.counts.first, again.counts.last, again.medium) == (2, take.frames - 1, "blocking")
    os.utime(movie, (1, 1))
    assert known_take(crit_path, movie) is None, "another time stamp: it has to be read"
