"""Crits of every form that was ever saved open today, and the scripts make exactly the tables that the models describe."""

from __future__ import annotations

import gzip
import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text

from shotcrit.crit.records import Decision, Drawing, Marker, Note, Setting, Shot
from shotcrit.errors import InputError
from shotcrit.store import opening
from shotcrit.store.connect import writing_engine
from shotcrit.store.crit_file import CritFile
from shotcrit.store.tables import Base, ShotRow
from shotcrit.store.upgrade import SCHEMA, config, upgrade

OLD = Path(__file__).parent / "old"
"""formN.crit.gz: a crit as form N saved it, with a note, a drawing, a decision, a marker, a setting and one edit taken back."""


def _laid_out(form: int, folder: Path) -> Path:
    path = folder / "old.crit"
    path.write_bytes(gzip.decompress((OLD / f"form{form}.crit.gz").read_bytes()))
    return path


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return _laid_out(1, tmp_path)


def _form(path: Path) -> int:
    raw = sqlite3.connect(path)
    try:
        return int(raw.execute("pragma user_version").fetchone()[0])
    finally:
        raw.close()


@pytest.mark.parametrize("form", range(1, SCHEMA))
def test_a_crit_of_an_older_form_opens_with_everything_in_it(form: int, tmp_path: Path) -> None:
    old = _laid_out(form, tmp_path)
    assert _form(old) == form
    with CritFile.open(old) as crit:
        with crit.view() as view:
            assert [(s.name, s.sequence) for s in view.all(Shot)] == [("Lantern 040", "Lighthouse")]
            assert [(n.id, n.weight, n.drawings) for n in view.all(Note)] == [("n1", "must", ("d1",))]
            assert view.all(Drawing)[0].strokes[0].points[1] == (0.75, 0.5, 1.0, 16.0)
            assert (view.all(Decision)[0].verdict, view.all(Decision)[0].reason) == ("dismissed", "wanted")
            assert view.all(Marker)[0].frame == 54
            assert view.all(Setting)[0].value == 230
            assert view.session.scalars(text("select sequence from shots")).all() == ["Lighthouse"]
        assert crit.redo("ada").label == "write a note"
        with crit.view() as view:
            assert len(view.all(Note)) == 2
    assert _form(old) == SCHEMA


def test_an_upgrade_that_is_cut_off_leaves_the_old_file_as_it_was(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(connection: Connection, to: str = "head") -> None:
        upgrade(connection, to)
        raise InputError("the power went")

    monkeypatch.setattr(opening, "upgrade", broken)
    with pytest.raises(InputError, match="the power went"):
        CritFile.open(old)
    monkeypatch.undo()
    assert _form(old) == 1
    raw = sqlite3.connect(old)
    assert "sequence" not in [row[1] for row in raw.execute("pragma table_info(shots)")]
    raw.close()
    CritFile.open(old).close()
    assert _form(old) == SCHEMA


def test_there_is_an_old_crit_for_every_form_but_the_newest() -> None:
    assert sorted(p.name for p in OLD.iterdir()) == [f"form{n}.crit.gz" for n in range(1, SCHEMA)]


def test_scripts_run_in_one_line_and_are_as_many_as_the_form_says() -> None:
    scripts = list(ScriptDirectory.from_config(config()).walk_revisions())
    assert [s.revision for s in scripts] == [f"{n:04d}" for n in range(SCHEMA, 0, -1)]


def test_the_scripts_make_the_tables_of_the_models(tmp_path: Path) -> None:
    path = tmp_path / "new.crit"
    CritFile.create(path).close()
    engine = writing_engine(path)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
    engine.dispose()
    assert ShotRow.__table__.c.sequence.index


def test_every_edit_is_forced_to_disk(tmp_path: Path) -> None:
    with CritFile.create(tmp_path / "new.crit") as crit:
        forced, kept = crit._writer.do(
            lambda session: (session.scalar(text("pragma synchronous")), session.scalar(text("pragma foreign_keys")))
        )
    assert (forced, kept) == (2, 1)  # 2 is FULL: each commit is synced, so that a power cut loses nothing (sqlite.org/pragma.html)
