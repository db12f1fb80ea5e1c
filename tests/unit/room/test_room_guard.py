"""Who may come in, and what they are told meanwhile."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient, WebSocketTestSession
from starlette.websockets import WebSocketDisconnect
from tests.make.measured import FRAMES
from tests.make.rooms import TOKEN, Guest, guest
from tests.make.worker import MadeWorker

from shotcrit.crit import notes
from shotcrit.crit.records import Note
from shotcrit.errors import MediaError
from shotcrit.room.app import room_app
from shotcrit.store.crit_file import CritFile

ADDRESS = "http://room:1234"


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """A built page of three files."""
    static = tmp_path / "static"
    (static / "assets").mkdir(parents=True)
    (static / "index.html").write_text("<p>the room</p>")
    (static / "assets" / "room-1a2b.js").write_text("let x = 1")
    (static.parent / "outside.txt").write_text("not for you")
    return static


@pytest.fixture
def stranger(room: Guest, page: Path) -> TestClient:
    """A browser that was not given the token yet."""
    app = room_app(room.room, token=TOKEN, hosts=frozenset({"room", "127.0.0.1"}), static=page)
    return TestClient(app, base_url=ADDRESS)


def _let_in(browser: TestClient) -> TestClient:
    assert browser.get(f"/?token={TOKEN}").status_code == 200
    return browser


def test_nothing_is_open_without_the_token(stranger: TestClient, room: Guest) -> None:
    for path in ("/", "/api/crit", "/assets/room-1a2b.js", f"/frame/{room.take}/0.jpg", f"/sound/{room.take}.flac", "/no/such"):
        for query in ("", "?token=wrong", "?token="):
            answer = stranger.get(path + query)
            assert answer.status_code == 403, path
            assert "token" in answer.json()["says"]
    assert stranger.get(f"/api/crit?token={TOKEN}").status_code == 403, "the token belongs into the first address only"


def test_the_address_sets_a_cookie_that_scripts_and_other_sites_cannot_use(stranger: TestClient) -> None:
    answer = stranger.get(f"/?token={TOKEN}")
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert TOKEN not in answer.text
    assert answer.headers["cache-control"] == "no-store"
    assert stranger.get("/").text == "<p>the room</p>"
    assert stranger.get("/api/crit").status_code == 200


def test_other_host_names_are_refused(stranger: TestClient) -> None:
    _let_in(stranger)
    assert stranger.get("/api/crit", headers={"Host": "127.0.0.1:9"}).status_code == 200
    for host in ("evil.example", "room.evil.example", "", "room:1:2", "evil.example:1234"):
        assert stranger.get("/api/crit", headers={"Host": host}).status_code == 403, host


def test_writes_come_from_the_room_itself(stranger: TestClient) -> None:
    _let_in(stranger)
    body = {"reaction_ms": 200}
    assert stranger.patch("/api/settings", json=body).status_code == 403
    for origin in ("http://evil.example", "null", "http://room", "http://room:1234.evil.example"):
        assert stranger.patch("/api/settings", json=body, headers={"Origin": origin}).status_code == 403, origin
    assert stranger.patch("/api/settings", json=body, headers={"Origin": ADDRESS}).status_code == 200


def test_a_program_with_the_token_needs_no_origin_but_none_of_another_page(stranger: TestClient) -> None:
    own = {"Authorization": f"Bearer {TOKEN}"}
    assert stranger.patch("/api/settings", json={"reaction_ms": 200}, headers=own).status_code == 200
    assert stranger.patch("/api/settings", json={}, headers={**own, "Origin": "http://evil.example"}).status_code == 403


def test_the_page_may_load_nothing_from_elsewhere(stranger: TestClient) -> None:
    headers = _let_in(stranger).get("/").headers
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "script-src 'self'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(
    "path",
    [
        "/outside.txt",
        "/../outside.txt",
        "/%2e%2e/outside.txt",
        "/assets/../../outside.txt",
        "/assets/%2e%2e%2f%2e%2e%2foutside.txt",
        "//etc/passwd",
        "/etc/passwd",
        "/assets",
        "/frame/../../etc/passwd",
        "/sound/..%2f..%2fetc%2fpasswd.flac",
        "/frame/TAKE/0.jpg/../../../outside.txt",
    ],
)
def test_no_path_of_the_disk_can_be_read(stranger: TestClient, path: str) -> None:
    answer = _let_in(stranger).get(path)
    assert answer.status_code in (404, 422)
    assert "not for you" not in answer.text
    assert "root:" not in answer.text


def test_built_files_are_kept_by_the_browser_and_the_page_is_not(stranger: TestClient) -> None:
    _let_in(stranger)
    assert "immutable" in stranger.get("/assets/room-1a2b.js").headers["cache-control"]
    assert stranger.get("/").headers["cache-control"] == "no-cache"


def test_a_request_that_is_too_big_is_not_read(stranger: TestClient) -> None:
    headers = {"Authorization": f"Bearer {TOKEN}", "Content-Length": str(2**40), "Content-Type": "application/json"}
    assert stranger.post("/api/send", content=b"{}", headers=headers).status_code == 413


def test_without_a_built_page_one_sentence_says_so(room: Guest, tmp_path: Path) -> None:
    browser = TestClient(room_app(room.room, token=TOKEN, hosts=frozenset({"room"}), static=tmp_path / "none"), base_url=ADDRESS)
    assert "not built" in _let_in(browser).get("/").json()["says"]


# Events


def test_every_window_hears_of_edits_jobs_and_frames(room: Guest) -> None:
    headers = {"Authorization": f"Bearer {TOKEN}"}
    with (
        room.client.websocket_connect("ws://room/api/events", headers=headers) as one,
        room.client.websocket_connect("ws://room/api/events", headers=headers) as two,
    ):
        assert json.loads(one.receive_text())["event"] is None
        assert json.loads(two.receive_text())["event"] is None
        note = room.post("/api/takes/TAKE/notes", {"first": 1, "last": 2, "what": "x"})
        heard = [json.loads(window.receive_text()) for window in (one, two)]
    assert heard[0] == heard[1]
    event = heard[0]["event"]
    assert (event["type"], event["label"], event["undo"]) == ("edit", "write a note", "write a note")
    assert event["changed"] == [{"kind": "note", "id": note["id"]}]
    assert event["seq"] == note["version"]


def test_edits_made_by_another_program_are_told_too(room: Guest, tmp_path: Path) -> None:
    from_elsewhere = CritFile.open(tmp_path / "lantern_040.crit")
    with from_elsewhere, room.client.websocket_connect("ws://room/api/events", headers={"Authorization": f"Bearer {TOKEN}"}) as window:
        window.receive_text()
        note = Note(id="elsewhere", take=room.take, first=1, last=2, what="from elsewhere")
        from_elsewhere.edit("bo", lambda view: notes.write_note(view, note))
        event = json.loads(window.receive_text())["event"]
    assert (event["type"], event["who"]) == ("edit", "bo")
    assert room.get("/api/takes/TAKE/notes")[0]["what"] == "from elsewhere"


def test_events_can_be_asked_for_and_waited_for(room: Guest) -> None:
    before = room.get("/api/events")["last"]
    room.post("/api/takes/TAKE/notes", {"first": 1, "last": 2, "what": "x"})
    answer = room.get(f"/api/events?after={before}&wait=5")
    assert [e["type"] for e in answer["events"]] == ["edit"]
    assert answer["last"] == before + 1
    assert room.get(f"/api/events?after={answer['last']}&wait=0.05")["events"] == []
    assert room.get("/api/events?after=999999")["missed"] is True


def test_sockets_need_the_token_and_the_right_page(stranger: TestClient) -> None:
    with pytest.raises(WebSocketDisconnect), stranger.websocket_connect("ws://room:1234/api/events"):
        pass
    _let_in(stranger)
    with (
        pytest.raises(WebSocketDisconnect),
        stranger.websocket_connect("ws://room:1234/api/events", headers={"Origin": "http://evil.example"}),
    ):
        pass
    with stranger.websocket_connect("ws://room:1234/api/events", headers={"Origin": ADDRESS}) as window:
        assert json.loads(window.receive_text())["event"] is None


# Pictures over a socket


def _line(room: Guest, take: str) -> WebSocketTestSession:
    return room.client.websocket_connect(f"ws://room/frame/{take}", headers={"Authorization": f"Bearer {TOKEN}"})


def test_a_socket_answers_each_index_with_its_picture(room: Guest) -> None:
    with _line(room, room.take) as line:
        for index in (5, 0):
            line.send_text(str(index))
        told = {int.from_bytes(data[:4], "little"): data[4:] for data in (line.receive_bytes(), line.receive_bytes())}
    assert told == {index: room.client.get(f"/frame/{room.take}/{index}.jpg").content for index in (0, 5)}


def test_a_picture_that_cannot_be_made_is_answered_with_its_index_alone(
    film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise MediaError("the disk is full")

    with guest(film, tmp_path, worker=MadeWorker(cache=tmp_path / "cache")) as room:
        monkeypatch.setattr(type(room.room.worker), "make_frames", broken)
        monkeypatch.setattr(room.room.frames, "build", lambda _take: None)
        with _line(room, room.take) as line:
            line.send_text("7")
            assert line.receive_bytes() == (7).to_bytes(4, "little")


@pytest.mark.parametrize("said", ["-1", str(FRAMES), "99999999999999999999", "1.5", "", "one", "\u0663"])
def test_what_is_no_frame_of_the_take_ends_the_line(room: Guest, said: str) -> None:
    with _line(room, room.take) as line:
        line.send_text(said)
        with pytest.raises(WebSocketDisconnect) as ended:
            line.receive_bytes()
    assert ended.value.code == 4400


def test_there_is_no_line_for_a_take_that_is_not_in_the_crit(room: Guest) -> None:
    with pytest.raises(WebSocketDisconnect), _line(room, "0123456789abcdef"):
        pass
