"""A crit that is renamed, moved, taken away or replaced while it is open: it is noticed, said, and no acknowledged edit is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from tests.make.reviews import beginning, note
from tests.make.rooms import until

from shotcrit.crit import notes
from shotcrit.crit.records import Note
from shotcrit.store.crit_file import CritFile
from shotcrit.store.errors import StoreError


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "lantern.crit"


@pytest.fixture
def crit(path: Path) -> Iterator[CritFile]:
    with CritFile.create(path) as opened:
        opened.edit("ada", lambda _: beginning(), undoable=False)
        _write(opened, "before")
        yield opened


def _write(crit: CritFile, name: str) -> None:
    crit.edit("ada", lambda view: notes.write_note(view, note(name)))


def _kept(path: Path) -> list[str]:
    """What the file alone holds, without what may lie beside it, as somebody has it who takes it away now."""
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True)) as alone:
        return [row[0] for row in alone.execute("SELECT id FROM notes ORDER BY born")]


def _seen(crit: CritFile) -> list[str]:
    with crit.view() as view:
        return [n.id for n in view.all(Note)]


def test_a_renamed_crit_has_what_was_written_before_and_after(crit: CritFile, path: Path) -> None:
    said: list[str] = []
    crit.on_moved(said.append)
    renamed = path.with_name("lantern for bram.crit")
    path.rename(renamed)
    _write(crit, "after")
    assert _kept(renamed) == ["before", "after"]
    assert crit.name == renamed.name
    assert said == [f"lantern.crit is now {renamed}; all of it is there, and what you do is saved there"]
    _write(crit, "later")
    assert _seen(crit) == ["before", "after", "later"]
    crit.undo("ada")
    crit.close()
    assert _kept(renamed) == ["before", "after"]
    assert os.listdir(path.parent) == [renamed.name], "nothing is left at the old place"


def test_a_crit_moved_to_another_folder_is_followed(crit: CritFile, path: Path, tmp_path: Path) -> None:
    (tmp_path / "done").mkdir()
    moved = path.rename(tmp_path / "done" / "lantern.crit")
    _write(crit, "after")
    crit.close()
    assert _kept(moved) == ["before", "after"]
    assert os.listdir(tmp_path) == ["done"]


def test_a_renamed_folder_is_followed(tmp_path: Path) -> None:
    (tmp_path / "old").mkdir()
    with CritFile.create(tmp_path / "old" / "lantern.crit") as crit:
        crit.edit("ada", lambda _: beginning(), undoable=False)
        (tmp_path / "old").rename(tmp_path / "new")
        _write(crit, "after")
    assert _kept(tmp_path / "new" / "lantern.crit") == ["after"]
    assert os.listdir(tmp_path / "new") == ["lantern.crit"]


def test_a_crit_that_is_taken_away_is_written_again(crit: CritFile, path: Path) -> None:
    said: list[str] = []
    crit.on_moved(said.append)
    path.unlink()
    assert _seen(crit) == ["before"]
    assert said == [f"{path} was taken away while it was open; all of it was written there again"]
    _write(crit, "after")
    crit.close()
    assert _kept(path) == ["before", "after"]
    assert os.listdir(path.parent) == [path.name]


def test_a_crit_that_another_file_replaces_is_kept_beside_it(crit: CritFile, path: Path, tmp_path: Path) -> None:
    (tmp_path / "older").mkdir()
    with CritFile.create(tmp_path / "older" / "lantern.crit") as older:
        older.edit("ada", lambda _: beginning(), undoable=False)
    os.replace(tmp_path / "older" / "lantern.crit", path)
    _write(crit, "after")
    crit.close()
    assert _kept(path) == [], "the other file is left as it is"
    assert _kept(path.with_name("lantern as open.crit")) == ["before", "after"]


def test_the_same_crit_put_back_by_another_program_goes_on(crit: CritFile, path: Path, tmp_path: Path) -> None:
    crit.copy_to(tmp_path / "copy.crit")
    os.replace(tmp_path / "copy.crit", path)
    assert _seen(crit) == ["before"]
    _write(crit, "after")
    crit.close()
    assert _kept(path) == ["before", "after"]
    assert not path.with_name("lantern as open.crit").exists()


def test_one_that_is_renamed_before_its_first_edit_is_followed(path: Path) -> None:
    with CritFile.create(path) as crit:
        crit.edit("ada", lambda _: beginning(), undoable=False)
        _write(crit, "a")
    with CritFile.open(path) as crit:
        path.rename(path.with_name("renamed at once.crit"))
        assert _seen(crit) == ["a"]
        _write(crit, "b")
    assert _kept(path.with_name("renamed at once.crit")) == ["a", "b"]


def test_it_is_noticed_without_an_edit(crit: CritFile, path: Path) -> None:
    crit.watch(lambda _last: None)
    renamed = path.rename(path.with_name("elsewhere.crit"))
    until(lambda: crit.name == renamed.name)
    assert _kept(renamed) == ["before"]


def test_a_crit_renamed_just_before_it_is_closed_is_whole(crit: CritFile, path: Path) -> None:
    renamed = path.rename(path.with_name("elsewhere.crit"))
    crit.close()
    assert _kept(renamed) == ["before"]


def test_one_that_cannot_be_written_again_is_said_and_goes_on_once_it_can(crit: CritFile, path: Path) -> None:
    kept = path.parent.rename(path.parent.with_name("hidden"))
    copy = kept / "lantern.crit"
    shutil.copy(copy, kept / "other")
    copy.unlink()
    with pytest.raises(StoreError, match="is gone and cannot be written again"):
        _write(crit, "after")
    path.parent.mkdir()
    assert _seen(crit) == ["before", "after"]
    crit.close()
    assert _kept(path) == ["before", "after"]
