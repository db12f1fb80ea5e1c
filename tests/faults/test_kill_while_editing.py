"""A process killed in the middle of editing loses nothing that it said was saved: a hundred times, at moments spread over an edit."""

from __future__ import annotations

import os
import random
import sqlite3
from functools import partial
from pathlib import Path

import pytest
from tests.make.killed import said_until_killed
from tests.make.reviews import beginning

from shotcrit.crit import notes
from shotcrit.crit.records import Note
from shotcrit.store.crit_file import CritFile

KILLS = 100
LONGEST_LIFE_S = 0.06
"""A child lives between nothing and some edits; killed at a random moment of one."""

pytestmark = [
    pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork, to start a hundred editors in a few seconds"),
    # Python 3.12 and later warn of threads at a fork; none of ours holds anything that the child uses.
    pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning"),
]


def _edit_until_killed(path: Path, run: int, said: int) -> None:
    """In the child: edit for ever, and say on a pipe what is saved. Every fifth note is taken back again."""
    with CritFile.open(path) as crit:
        for n in range(1_000_000):
            note = Note(id=f"r{run}-{n}", take="take1", first=n % 200, last=n % 200 + 3, what=f"note {n} " + "and more words " * (n % 60))
            crit.edit("ada", lambda view, note=note: notes.write_note(view, note))
            os.write(said, f"+{note.id}\n".encode())
            if n % 5 == 4:
                crit.undo("ada")
                os.write(said, f"-{note.id}\n".encode())


def test_a_hundred_kills_lose_nothing_that_was_said_to_be_saved(tmp_path: Path) -> None:
    path, chance = tmp_path / "killed.crit", random.Random(40)
    with CritFile.create(path) as crit:
        crit.edit("ada", lambda _: beginning(), undoable=False)
    saved: set[str] = set()
    undone: set[str] = set()
    for run in range(KILLS):
        lines = said_until_killed(partial(_edit_until_killed, path, run), chance.uniform(0, LONGEST_LIFE_S))
        saved |= {line[1:] for line in lines if line[0] == "+"}
        undone |= {line[1:] for line in lines if line[0] == "-"}
    assert len(saved) >= KILLS, "every editor was to save something before it was killed"
    with CritFile.open(path) as crit, crit.view() as view:
        there = {n.id for n in view.all(Note)}
        history = [(row.seq, row.what, row.of) for row in view.history(None, 1_000_000)]
        changes = view.touched([seq for seq, _, _ in history])
    # Said to be saved and never taken back: there. Said to be taken back: gone. The one edit under way at a kill may be either.
    last_of_run = {run: max((int(name.split("-")[1]) for name in saved if name.startswith(f"r{run}-")), default=-1) for run in range(KILLS)}
    under_way = {f"r{run}-{n}" for run, n in last_of_run.items() if n % 5 == 4}
    assert saved - undone - under_way <= there
    assert not (undone & there)
    extra = there - saved
    assert len(extra) <= KILLS, "at most the one edit under way at each kill"
    # The history is whole: no number missing, every edit with what it changed, every undo of an edit that is there.
    numbers = sorted(seq for seq, _, _ in history)
    assert numbers == list(range(1, len(numbers) + 1))
    assert all(changes[seq] for seq in numbers)
    assert {of for _, what, of in history if what == "undo"} <= set(numbers)
    raw = sqlite3.connect(path)
    assert raw.execute("pragma integrity_check").fetchone() == ("ok",)
    assert raw.execute("pragma foreign_key_check").fetchall() == []
    raw.close()


def test_after_a_kill_undo_goes_on_where_it_was(tmp_path: Path) -> None:
    path = tmp_path / "killed.crit"
    with CritFile.create(path) as crit:
        crit.edit("ada", lambda _: beginning(), undoable=False)
    said_until_killed(partial(_edit_until_killed, path, 0), 0.05)
    with CritFile.open(path) as crit:
        with crit.view() as view:
            count = len(view.all(Note))
        assert count > 0
        for _ in range(count):
            crit.undo("ada")
        with crit.view() as view:
            assert view.all(Note) == ()
            assert view.next_undo(None) is None
