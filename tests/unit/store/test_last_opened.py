"""`shotcrit open` by itself goes on with what was opened last, and says in a sentence when it cannot."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotcrit.errors import InputError
from shotcrit.store.last_opened import NAME, note_opened, opened_last


def test_what_was_opened_last_is_opened_again(tmp_path: Path) -> None:
    habits, crits = tmp_path / "config" / "habits.json", [tmp_path / "one.crit", tmp_path / "zwei ä.crit"]
    for crit in crits:
        crit.write_bytes(b"x")
        note_opened(habits, crit)
    assert opened_last(habits) == crits[-1]


@pytest.mark.parametrize("line", [None, b"", b"\n", b"\xff\xfe\0", b"a\0b"])
def test_nothing_to_go_on_with_is_one_sentence(tmp_path: Path, line: bytes | None) -> None:
    if line is not None:
        (tmp_path / NAME).write_bytes(line)
    with pytest.raises(InputError, match="nothing was opened here yet; name a movie"):
        opened_last(tmp_path / "habits.json")


def test_a_crit_that_has_gone_is_named(tmp_path: Path) -> None:
    crit = tmp_path / "gone.crit"
    note_opened(tmp_path / "habits.json", crit)
    with pytest.raises(InputError, match=r"gone\.crit, which was opened last, is not there any more"):
        opened_last(tmp_path / "habits.json")


def test_a_folder_that_may_not_be_written_remembers_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    note_opened(tmp_path / "file" / "habits.json", tmp_path / "a.crit")
    with pytest.raises(InputError, match="nothing was opened"):
        opened_last(tmp_path / "file" / "habits.json")
