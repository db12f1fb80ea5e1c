"""A process killed while a take arrives leaves that take whole in the crit, or not at all, and loses nothing that was there."""

from __future__ import annotations

import os
import random
import sqlite3
from fractions import Fraction
from functools import partial
from pathlib import Path

import pytest
from tests.make.killed import said_until_killed
from tests.make.reviews import SHOT, note, take

from shotcrit.crit.edits import Edit, make
from shotcrit.crit.records import Note, Shot, Take
from shotcrit.media.info import MovieInfo
from shotcrit.room.opening import add_movie
from shotcrit.store.crit_file import CritFile

KILLS = 25
LONGEST_LIFE_S = 0.04
COUNTED_FROM = 1003

pytestmark = [
    pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork, to start many arrivals in a second"),
    # Python 3.12 and later warn of threads at a fork; none of ours holds anything that the child uses.
    pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning"),
]


def _movie(run: int, n: int) -> MovieInfo:
    name = f"lantern_{run}_{n}.mov"
    return MovieInfo(Path("/nowhere") / name, name, f"{run:032x}{n:032x}", 100, Fraction(24), False, 320, 180, 1, Fraction(100, 24), None)


def _arrive_until_killed(path: Path, run: int, said: int) -> None:
    with CritFile.open(path) as crit:
        for n in range(1_000_000):
            added = add_movie(crit, _movie(run, n), count_from=COUNTED_FROM)
            os.write(said, f"{added.id}\n".encode())


def test_kills_while_takes_arrive_leave_whole_takes_and_lose_nothing(tmp_path: Path) -> None:
    path, chance = tmp_path / "killed.crit", random.Random(12)
    old = note("n1")
    with CritFile.create(path) as crit:
        crit.edit("ada", lambda _: Edit("start", (make(SHOT), make(take(lines="Oona: You promised.")), make(old))), undoable=False)
    said: set[str] = set()
    for run in range(KILLS):
        said |= set(said_until_killed(partial(_arrive_until_killed, path, run), chance.uniform(0, LONGEST_LIFE_S)))
    with CritFile.open(path) as crit, crit.view() as view:
        takes, shots, notes = view.all(Take), view.all(Shot), view.all(Note)
    assert len(said) >= KILLS, "something was to arrive before each kill"
    assert said <= {t.id for t in takes}
    assert len(takes) <= 1 + len(said) + KILLS, "at most the one under way at each kill"
    assert [t.number for t in takes] == list(range(1, len(takes) + 1))
    assert [s.name for s in shots] == [SHOT.name]
    assert [(n.id, n.what) for n in notes] == [(old.id, old.what)]
    for arrived in takes[1:]:
        assert arrived.lines == "Oona: You promised."
        assert arrived.arrival is not None
        assert arrived.counts is not None, "a take is never there without what came along with it"
        assert arrived.counts.first == COUNTED_FROM - arrived.first_frame
    raw = sqlite3.connect(path)
    assert raw.execute("pragma integrity_check").fetchone() == ("ok",)
    raw.close()
