"""A crit whose stored JSON is damaged: one sentence that names it, whatever stands there."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from tests.make.reviews import beginning

from shotcrit.crit.records import Take
from shotcrit.errors import InputError
from shotcrit.store.crit_file import CritFile


@pytest.mark.parametrize(
    "stored", ["{", "", "null", "[1]", '"words"', "[" * 5000, '{"path": ' + "9" * 5000 + "}", '{"path": 3}', "\x00\xff"]
)
def test_damage_is_told_in_a_sentence(stored: str, tmp_path: Path) -> None:
    path = tmp_path / "lantern.crit"
    with CritFile.create(path) as crit:
        crit.edit("Oona", lambda _view: beginning())
    with closing(sqlite3.connect(path)) as file, file:
        assert file.execute("UPDATE takes SET body = ?", (stored,)).rowcount == 1
    with CritFile.open(path) as crit, crit.view() as view, pytest.raises(InputError, match="restore"):
        view.all(Take)
