"""The room over a real socket: address, token, frames over one connection, events, and a clean end."""

from __future__ import annotations

import gzip
import http.client
import json
import os
import socket
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from tests.make.reviews import note, take
from tests.make.worker import MadeWorker
from websockets.sync.client import connect

from shotcrit.crit.edits import Edit, make
from shotcrit.crit.records import KINDS, Arrival, Note, Shot, Take
from shotcrit.crit.view import need
from shotcrit.errors import InputError
from shotcrit.readings.cast import Cast, Character, LookAt, Placed
from shotcrit.room.opening import add_movie, crit_beside, known_take, open_crit
from shotcrit.room.serve import prepare
from shotcrit.store.crit_file import CritFile

CAST_FROM_ONE = Cast(characters=(Character(name="Ada", marks={"nose": (Placed(frame=2, x=0.5, y=0.4),)}),))
PATIENCE_S = 120
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


def _first_take(crit: CritFile) -> None:
    """Take 1 of a shot 'kite', with lines, a placed mark and two looks."""
    looks = (LookAt(who="Ada", at="Bram"), LookAt(who="Bram", at="Ada", first=1010, last=1020))
    cast = CAST_FROM_ONE.model_copy(update={"looks": looks})
    first = take("first", shot="s", lines="Ada: Look, a kite.", cast=cast, animator="Cleo", scene="/nowhere/kite.glb")
    crit.edit("ada", lambda _: Edit("start", (make(Shot(id="s", name="kite")), make(first), make(note("n1", take="first")))))


def test_another_movie_is_the_next_take_of_the_shot(film: Path, tmp_path: Path) -> None:
    info, _ = MadeWorker(cache=tmp_path).look_at(film)
    with open_crit(tmp_path / "kite.crit") as crit:
        _first_take(crit)
        second = add_movie(crit, info)
        assert add_movie(crit, info).id == second.id
        with crit.view() as view:
            assert [(t.number, t.shot) for t in view.all(Take)] == [(1, "s"), (2, "s")]
            assert [n.take for n in view.all(Note)] == ["first"]
    assert (second.lines, second.animator, second.first_frame) == ("Ada: Look, a kite.", "Cleo", 1001)
    assert second.added.endswith("+00:00")
    assert second.scene is None, "the old animation's scene says nothing of the new pictures"
    assert [person.name for person in second.cast.characters] == ["Ada"]
    assert second.cast.characters[0].marks == {}, "a mark's frame is not known before the takes are lined up"
    assert [look.who for look in second.cast.looks] == ["Ada"]
    assert second.arrival == Arrival(after="first", waits=("cast", "words"))


def test_of_several_shots_the_one_that_is_named_gets_the_take(film: Path, tmp_path: Path) -> None:
    info, _ = MadeWorker(cache=tmp_path).look_at(film)
    with open_crit(tmp_path / "kite.crit") as crit:
        _first_take(crit)
        crit.edit("ada", lambda _: Edit("start", (make(Shot(id="t", name="lamp")),)))
        with pytest.raises(InputError, match=r"several shots \(kite, lamp\); say with --shot"):
            add_movie(crit, info)
        assert add_movie(crit, info, shot="kite").number == 2
        other = add_movie(crit, replace(info, sha256="0" * 64), shot="mill")
        with crit.view() as view:
            assert need(view, Shot, other.shot).name == "mill"
    assert (other.number, other.arrival) == (1, None)


def test_a_take_that_could_not_be_counted_is_not_there_at_all(film: Path, tmp_path: Path) -> None:
    info, _ = MadeWorker(cache=tmp_path).look_at(film)
    with open_crit(tmp_path / "kite.crit") as crit:
        with pytest.raises(InputError, match="none of them would count"):
            add_movie(crit, info, count_from=9000)
        with crit.view() as view:
            assert (view.all(Take), view.all(Shot)) == ((), ())


@pytest.mark.parametrize("form", [1, 2, 3, 4])
def test_an_old_crit_gains_a_take_without_loss(form: int, film: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.crit"
    old.write_bytes(gzip.decompress((Path(__file__).parents[1] / "store" / "old" / f"form{form}.crit.gz").read_bytes()))
    with open_crit(old) as crit:
        with crit.view() as view:
            before = {kind: view.all(kind) for kind in KINDS.values()}
        second = add_movie(crit, MadeWorker(cache=tmp_path).look_at(film)[0])
        with crit.view() as view:
            after = {kind: view.all(kind) for kind in KINDS.values()}
    assert second.number == 2
    assert after == {**before, Take: (*before[Take], second)}
