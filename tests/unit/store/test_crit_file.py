"""The crit file: edits, undo through restarts, two windows, and every way a file can be wrong."""

from __future__ import annotations

import os
import shutil
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event
from tests.make.reviews import beginning, note

from shotcrit.crit import notes
from shotcrit.crit.edits import Clash, Edit, make, unmake, update
from shotcrit.crit.records import Note, Shot, Take
from shotcrit.crit.view import NotHere, need
from shotcrit.errors import InputError, ShotcritError
from shotcrit.store import crit_file
from shotcrit.store.crit_file import CritFile
from shotcrit.store.errors import Blocked, StoreClosed, StoreError

PATIENCE_S = 60
NOBODY = 65534


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "lantern 040 #1?.crit"


@pytest.fixture
def crit(path: Path) -> Iterator[CritFile]:
    with CritFile.create(path) as opened:
        opened.edit("ada", lambda _: beginning(), undoable=False)
        yield opened


def _write(crit: CritFile, name: str, who: str = "ada") -> None:
    crit.edit(who, lambda view: notes.write_note(view, note(name)))


def _change(crit: CritFile, name: str, base: int, who: str = "ada", **fields: object) -> int:
    return crit.edit(who, lambda view: Edit("change", update(need(view, Note, name), fields)), {("note", name): base}).seq


def _note(crit: CritFile, name: str) -> Note | None:
    with crit.view() as view:
        return view.get(Note, name)


def _names(crit: CritFile) -> list[str]:
    with crit.view() as view:
        return [n.id for n in view.all(Note)]


def test_an_edit_is_there_for_other_connections_when_it_is_answered(crit: CritFile, path: Path) -> None:
    _write(crit, "a")
    with sqlite3.connect(path) as other:
        assert other.execute("select id, take_id, weight from notes").fetchall() == [("a", "take1", "polish")]
    other.close()


def test_the_file_says_what_it_is(crit: CritFile, path: Path) -> None:
    assert path.read_bytes()[68:72] == b"CRIT"
    crit.close()
    other = sqlite3.connect(path)
    try:
        assert other.execute("pragma journal_mode").fetchone() == ("wal",)
        assert (
            other.execute("pragma user_version").fetchone()
            == other.execute("select cast(version_num as integer) from alembic_version").fetchone()
        )
    finally:
        other.close()


def test_a_closed_crit_is_one_whole_file(crit: CritFile, path: Path, tmp_path: Path) -> None:
    _write(crit, "a")
    crit.close()
    assert os.listdir(tmp_path) == [path.name]
    copy = tmp_path / "copy.crit"
    shutil.copy(path, copy)
    with CritFile.open(copy) as again:
        assert _names(again) == ["a"]


def test_undo_and_redo_reach_through_everything_and_through_restarts(path: Path) -> None:
    with CritFile.create(path) as crit:
        crit.edit("ada", lambda _: beginning())
        for name in "abc":
            _write(crit, name)
        crit.edit("ada", lambda view: notes.drop_note(view, "b"))
        written = [_note(crit, name) for name in "abc"]
    with CritFile.open(path) as crit:
        assert [crit.undo("ada").label for _ in range(3)] == ["delete a note", "write a note", "write a note"]
        assert _names(crit) == ["a"]
    with CritFile.open(path) as crit:
        assert [crit.undo("ada").label for _ in range(2)] == ["write a note", "start"]
        with crit.view() as view:
            assert view.all(Shot) == () == view.all(Take)
        with pytest.raises(NotHere, match="nothing to take back"):
            crit.undo("ada")
        for _ in range(5):
            crit.redo("ada")
        with pytest.raises(NotHere, match="nothing to bring back"):
            crit.redo("ada")
        again = [_note(crit, name) for name in "abc"]
    assert again[1] is None
    assert [n and n.model_copy(update={"version": 0}) for n in again] == [n and n.model_copy(update={"version": 0}) for n in written]


def test_a_new_edit_ends_what_could_be_redone(crit: CritFile) -> None:
    _write(crit, "a")
    crit.undo("ada")
    _write(crit, "b")
    with pytest.raises(NotHere, match="nothing to bring back"):
        crit.redo("ada")
    assert _names(crit) == ["b"]


def test_history_is_only_added_to(crit: CritFile) -> None:
    _write(crit, "a")
    crit.undo("bo")
    crit.redo("ada")
    with crit.view() as view:
        rows = [(r.seq, r.who, r.what, r.of, r.label) for r in view.history(None, 10)]
    assert rows == [
        (4, "ada", "redo", 2, "write a note"),
        (3, "bo", "undo", 2, "write a note"),
        (2, "ada", "edit", None, "write a note"),
        (1, "ada", "edit", None, "start"),
    ]


def test_in_a_team_undo_takes_back_only_ones_own_edits(path: Path) -> None:
    with CritFile.create(path, scope_by_person=True) as crit:
        crit.edit("ada", lambda _: beginning(), undoable=False)
        _write(crit, "a", "ada")
        _write(crit, "b", "bo")
        crit.undo("ada")
        assert _names(crit) == ["b"]
        _write(crit, "c", "bo")  # does not end what Ada can redo
        crit.redo("ada")
        assert sorted(_names(crit)) == ["a", "b", "c"]


def test_an_edit_that_changes_nothing_is_no_edit(crit: CritFile) -> None:
    _write(crit, "a")
    seen = _note(crit, "a")
    assert seen is not None
    assert _change(crit, "a", seen.version, weight="polish") == seen.version
    crit.undo("ada")
    assert _names(crit) == []


def test_two_windows_changing_different_fields_are_both_kept(path: Path, crit: CritFile) -> None:
    _write(crit, "a")
    seen = _note(crit, "a")
    assert seen is not None
    with CritFile.open(path) as other:
        _change(crit, "a", seen.version, what="She looks past him.")
        _change(other, "a", seen.version, "bo", why="The story turns on it.")
        now = _note(crit, "a")
    assert now is not None
    assert (now.what, now.why) == ("She looks past him.", "The story turns on it.")


def test_two_windows_changing_the_same_field_clash_and_the_second_sees_the_first(path: Path, crit: CritFile) -> None:
    _write(crit, "a")
    seen = _note(crit, "a")
    assert seen is not None
    with CritFile.open(path) as other:
        _change(crit, "a", seen.version, what="first")
        with pytest.raises(Clash, match="changed in another window") as clash:
            _change(other, "a", seen.version, "bo", what="second", why="kept nowhere")
        assert isinstance(clash.value.current, Note)
        assert clash.value.current.what == "first"
        now = _note(other, "a")
    assert now is not None
    assert (now.what, now.why) == ("first", "")


def test_changing_what_another_window_deleted_clashes(crit: CritFile) -> None:
    _write(crit, "a")
    seen = _note(crit, "a")
    assert seen is not None
    crit.edit("bo", lambda view: notes.drop_note(view, "a"))
    with pytest.raises(Clash, match="deleted in another window") as clash:
        _change(crit, "a", seen.version, what="too late")
    assert clash.value.current is None
    with pytest.raises(NotHere):
        crit.edit("bo", lambda view: notes.drop_note(view, "never"), {("note", "never"): 1})


def test_deleting_what_was_changed_meanwhile_clashes(crit: CritFile) -> None:
    _write(crit, "a")
    seen = _note(crit, "a")
    assert seen is not None
    _change(crit, "a", seen.version, what="newer")
    with pytest.raises(Clash):
        crit.edit("bo", lambda view: notes.drop_note(view, "a"), {("note", "a"): seen.version})
    assert _names(crit) == ["a"]


def test_undoing_what_another_built_upon_clashes_and_changes_nothing(path: Path) -> None:
    with CritFile.create(path, scope_by_person=True) as crit:
        crit.edit("ada", lambda _: beginning(), undoable=False)
        _write(crit, "a", "ada")
        base = _note(crit, "a")
        assert base is not None
        first = _change(crit, "a", base.version, "ada", what="one")
        _change(crit, "a", first, "bo", what="two")
        with pytest.raises(Clash):
            crit.undo("ada")
        now = _note(crit, "a")
    assert now is not None
    assert now.what == "two"


def test_what_others_hang_on_cannot_be_taken_away(crit: CritFile) -> None:
    _write(crit, "a")
    with pytest.raises(Blocked, match="belong to"):
        crit.edit("ada", lambda view: Edit("delete the take", (unmake(need(view, Take, "take1")),)))
    assert _names(crit) == ["a"]


def test_an_act_that_fails_half_way_leaves_nothing(crit: CritFile) -> None:
    def act(view: object) -> Edit:
        return Edit("two notes", (make(note("a")), make(note("b", take="nowhere"))))

    with pytest.raises(ShotcritError):
        crit.edit("ada", act)
    assert _names(crit) == []
    with crit.view() as view:
        assert view.seq() == 1


def test_another_window_hears_of_an_edit_within_a_second(path: Path, crit: CritFile) -> None:
    heard = threading.Event()
    with CritFile.open(path) as other:
        other.watch(lambda last: heard.set() if last == 2 else None)
        _write(crit, "a")
        assert heard.wait(PATIENCE_S)
    assert crit_file.LOOK_EVERY_S < 1, "what looks so often has looked within a second, on a machine that has nothing else to do"


def test_after_closing_every_call_is_refused(crit: CritFile) -> None:
    crit.close()
    crit.close()
    for call in (lambda: crit.undo("ada"), lambda: crit.view().__enter__(), lambda: crit.edit("ada", lambda _: beginning()), crit.crit_id):
        with pytest.raises(StoreClosed, match="was closed"):
            call()


def test_many_threads_at_once_lose_nothing(crit: CritFile) -> None:
    threads = [threading.Thread(target=lambda n=n: [_write(crit, f"n{n}-{i}") for i in range(10)]) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE_S)
    assert len(_names(crit)) == 60


def test_a_copy_is_whole_and_refuses_to_replace(crit: CritFile, tmp_path: Path) -> None:
    _write(crit, "a")
    target = tmp_path / "sent.crit"
    crit.copy_to(target)
    with CritFile.open(target) as copy:
        assert _names(copy) == ["a"]
        assert copy.crit_id() == crit.crit_id()
    with pytest.raises(InputError, match="there already"):
        crit.copy_to(target)


# Files that are not what they should be


def test_making_a_crit_never_replaces(path: Path) -> None:
    path.write_text("my shopping list")
    with pytest.raises(InputError, match="is there already"):
        CritFile.create(path)
    assert path.read_text() == "my shopping list"
    assert os.listdir(path.parent) == [path.name]


def test_files_that_are_no_crit(tmp_path: Path, path: Path) -> None:
    with pytest.raises(InputError, match="is not there"):
        CritFile.open(path)
    path.write_bytes(b"")
    with pytest.raises(InputError, match="is not a crit"):
        CritFile.open(path)
    path.write_bytes(b"\x89PNG" * 500)
    with pytest.raises(InputError, match="is not a crit"):
        CritFile.open(path)
    with pytest.raises(InputError, match="cannot be read"):
        CritFile.open(tmp_path)
    other = sqlite3.connect(tmp_path / "other.db")
    other.execute("create table songs (name)")
    other.close()
    before = (tmp_path / "other.db").read_bytes()
    with pytest.raises(InputError, match="a database, but not a crit"):
        CritFile.open(tmp_path / "other.db")
    assert b"songs" in before


def test_a_newer_crit_is_left_alone(path: Path, crit: CritFile) -> None:
    crit.close()
    raw = sqlite3.connect(path)
    raw.execute("pragma user_version = 99")
    raw.close()
    with pytest.raises(InputError, match=r"newer Shotcrit .*form 99"):
        CritFile.open(path)


@pytest.mark.parametrize(("start", "length"), [(4096, 4096), (100, 3996), (8192, 60_000)])
def test_a_damaged_crit_is_one_sentence(path: Path, crit: CritFile, start: int, length: int) -> None:
    for i in range(40):
        _write(crit, f"n{i}")
    crit.close()
    data = bytearray(path.read_bytes())
    data[start : start + length] = b"\xa5" * len(data[start : start + length])
    path.write_bytes(data)
    with pytest.raises(InputError, match="damaged") as refused:
        CritFile.open(path)
    assert "\n" not in str(refused.value)


def test_a_cut_off_crit_is_one_sentence(path: Path, crit: CritFile) -> None:
    for i in range(40):
        _write(crit, f"n{i}")
    crit.close()
    path.write_bytes(path.read_bytes()[:-20_000])
    with pytest.raises(InputError, match="damaged"):
        CritFile.open(path)


def test_a_full_disk_stores_nothing_and_says_so(crit: CritFile) -> None:
    _write(crit, "a")
    engine = crit._writer._engine
    with engine.connect() as connection:
        pages = connection.exec_driver_sql("pragma page_count").scalar()
    engine.dispose()
    limit = lambda raw, _: raw.execute(f"pragma max_page_count = {pages}")  # noqa: E731 - SQLite's own way to say full
    event.listen(engine, "connect", limit)
    with pytest.raises(StoreError, match="disk is full"):
        crit.edit("ada", lambda view: notes.write_note(view, note("b", what="x" * 19_000)))
    assert _names(crit) == ["a"]
    event.remove(engine, "connect", limit)
    engine.dispose()
    crit.edit("ada", lambda view: notes.write_note(view, note("b", what="x" * 19_000)))
    assert _names(crit) == ["a", "b"]


@contextmanager
def _as_nobody() -> Iterator[None]:
    """Root may write anywhere; be somebody who may not."""
    if os.geteuid() != 0:
        yield
        return
    os.setegid(NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        os.setegid(0)


def test_a_read_only_folder_is_one_sentence_and_nothing_half_written(tmp_path: Path) -> None:
    folder = tmp_path / "shelf"
    folder.mkdir()
    CritFile.create(folder / "a.crit").close()
    for place in (folder, *folder.parents):  # another user must be able to get there
        if place.stat().st_uid == os.getuid() and place.stat().st_mode & 0o055 != 0o055:
            place.chmod(0o755)
    (folder / "a.crit").chmod(0o444)
    folder.chmod(0o555)
    try:
        with _as_nobody():
            with pytest.raises(StoreError, match="may not be written here"):
                CritFile.open(folder / "a.crit")
            with pytest.raises(StoreError, match=r"cannot be made \(Permission denied\)"):
                CritFile.create(folder / "b.crit")
    finally:
        folder.chmod(0o755)
    assert os.listdir(folder) == ["a.crit"]
