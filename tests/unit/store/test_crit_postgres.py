"""The same models and edits on PostgreSQL, where its server is installed; started for the test and thrown away."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import create_engine
from tests.make.reviews import beginning, note

from shotcrit.crit import notes
from shotcrit.crit.edits import Clash, Edit, unmake, update
from shotcrit.crit.records import Note, Shot
from shotcrit.crit.view import need
from shotcrit.store.crit_file import CritFile
from shotcrit.store.errors import Blocked
from shotcrit.store.tables import Base
from shotcrit.store.upgrade import upgrade

pytest.importorskip("psycopg")
PROGRAM = shutil.which("pg_ctl")
NOBODY = 65534
pytestmark = pytest.mark.skipif(PROGRAM is None, reason="needs PostgreSQL's server (Debian: postgresql)")


def _run(*command: str, folder: Path) -> None:
    """PostgreSQL refuses to run as root, so that root hands over to nobody."""
    other = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}
    subprocess.run(command, check=True, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **other)  # type: ignore[call-overload]


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    assert PROGRAM is not None
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))  # short: a socket's path may have 107 bytes
    if os.geteuid() == 0:
        os.chown(folder, NOBODY, NOBODY)
    data, tools = folder / "data", Path(PROGRAM).resolve().parent
    try:
        _run(str(tools / "initdb"), "-D", str(data), "-U", "crit", "-A", "trust", "-E", "UTF8", "--no-sync", folder=folder)
        options = f"-k {folder} -c listen_addresses='' -c fsync=off"
        _run(str(tools / "pg_ctl"), "-D", str(data), "-w", "-l", str(folder / "log"), "-o", options, "start", folder=folder)
        yield f"postgresql+psycopg://crit@/postgres?host={folder}"
    finally:
        if (data / "postmaster.pid").exists():
            _run(str(tools / "pg_ctl"), "-D", str(data), "-w", "-m", "immediate", "stop", folder=folder)
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="module")
def crit(address: str) -> Iterator[CritFile]:
    engine = create_engine(address)
    with engine.begin() as connection:
        upgrade(connection)
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection, opts={"compare_type": True}), Base.metadata) == []
    engine.dispose()
    with CritFile(address, "team", scope_by_person=True) as opened:
        opened.edit("ada", lambda _: beginning(), undoable=False)
        yield opened


def test_edits_undo_and_clashes_are_the_same_as_in_a_file(crit: CritFile, address: str) -> None:
    crit.edit("ada", lambda view: notes.write_note(view, note("a")))
    crit.edit("bo", lambda view: notes.write_note(view, note("b")))
    with crit.view() as view:
        seen = need(view, Note, "a").version
    with CritFile(address, "team", scope_by_person=True) as other:
        crit.edit("ada", lambda view: Edit("change", update(need(view, Note, "a"), {"what": "first"})), {("note", "a"): seen})
        with pytest.raises(Clash):
            other.edit("bo", lambda view: Edit("change", update(need(view, Note, "a"), {"what": "second"})), {("note", "a"): seen})
        other.edit("bo", lambda view: Edit("change", update(need(view, Note, "a"), {"why": "both kept"})), {("note", "a"): seen})
    with crit.view() as view:
        assert (need(view, Note, "a").what, need(view, Note, "a").why) == ("first", "both kept")
    assert crit.undo("ada").label == "change"
    assert crit.redo("ada").label == "change"
    with crit.view() as view:
        assert need(view, Note, "a").what == "first"
        assert [n.id for n in notes.in_order(view, "take1")] == ["a", "b"]


def test_what_others_hang_on_cannot_be_taken_away(crit: CritFile) -> None:
    with pytest.raises(Blocked):
        crit.edit("ada", lambda view: Edit("delete", (unmake(need(view, Shot, "shot1")),)))
