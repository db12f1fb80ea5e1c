"""Two movies from their files to verdicts: with a crit, without one, and two that do not belong together."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.make.take_pairs import Look, Pair, Plan

from shotcrit.crit.notes import write_note
from shotcrit.crit.records import Note
from shotcrit.errors import InputError
from shotcrit.measuring.follow import OldTake, follow_takes, like_the_old, old_take
from shotcrit.measuring.measure import Workbench, open_medium
from shotcrit.measuring.request import MeasureRequest
from shotcrit.media.info import MovieInfo
from shotcrit.room.takes.adding import next_take
from shotcrit.store.cache import open_cache
from shotcrit.store.crit_file import CritFile

STILL = Look(grain=0.0)
OLD = Plan(np.r_[np.arange(34.0), [33.0] * 7], sound=None, look=STILL)
"""Seven dead frames at the end."""
NEW = replace(OLD, u=np.r_[np.full(5, np.nan), np.arange(41.0)], mended=((12, 20),))
"""Five frames of a slate, life to the last frame, and something mended over 12 to 20."""


@pytest.fixture(scope="module")
def films(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return Pair("mended", OLD, NEW).films(tmp_path_factory.mktemp("films"))


def _bench(folder: Path) -> Workbench:
    return Workbench(open_cache(root=folder / "cache"), proxy=False)


def test_a_movie_is_followed_to_the_next(films: tuple[Path, Path], tmp_path: Path) -> None:
    followed = follow_takes(OldTake(MeasureRequest(films[0])), MeasureRequest(films[1]), _bench(tmp_path))
    assert followed.map.old_of[:39].tolist() == [-1] * 5 + list(range(34))
    tail = next(v for v in followed.verdicts if (v.check, v.kind) == ("hold", "tail"))
    assert (tail.verdict, tail.old.value, tail.new and tail.new.value) == ("moved", 7, 0)
    assert followed.changes is not None
    assert {(r.new.start, r.new.last) for r in followed.changes.regions if r.old and r.old.start < 30} == {(17, 25)}
    assert any("such as a slate" in remark for remark in followed.remarks)


def test_nothing_is_called_moved_where_nothing_was_mended(tmp_path: Path) -> None:
    again = replace(OLD, look=Look(grain=0.0, gain=0.85, lift=8, quality=50))
    old, new = Pair("unmended", OLD, again).films(tmp_path)
    followed = follow_takes(OldTake(MeasureRequest(old)), MeasureRequest(new), _bench(tmp_path))
    assert [(v.check, v.kind, v.verdict) for v in followed.verdicts] == [("hold", "tail", "unchanged")]
    assert followed.new_findings == ()


def test_a_crits_notes_are_answered_and_the_crit_stays_as_it_is(films: tuple[Path, Path], tmp_path: Path) -> None:
    path = tmp_path / "lantern.crit"
    info = open_medium(MeasureRequest(films[0])).info
    with CritFile.create(path) as crit:
        take = _with_take(crit, info)
        for name, first, last in (("n1", 13, 18), ("n2", 1, 8)):
            crit.edit("Ada", lambda view, n=name, a=first, b=last: write_note(view, Note(id=n, take=take, first=a, last=b, what="higher")))
    before = path.read_bytes()
    old = old_take(path)
    followed = follow_takes(old, like_the_old(MeasureRequest(films[1]), old.request), _bench(tmp_path))
    told = {v.note: v.verdict for v in followed.verdicts if v.note}
    assert told == {"n1": "cannot tell", "n2": "unchanged"}
    assert path.read_bytes() == before


def _with_take(crit: CritFile, info: MovieInfo) -> str:
    """Add a take of a movie; its id."""
    with crit.view() as view:
        added = next_take(view, info, shot=None)
    crit.edit("Ada", lambda _view: added.edit())
    return added.take.id


def test_two_movies_of_two_shots_are_refused_in_a_sentence(films: tuple[Path, Path], tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    _, other = Pair("other", OLD, replace(NEW, seed=9)).films(tmp_path / "other")
    with pytest.raises(InputError, match=r"new\.mp4 is no take of the shot in old\.mp4: .*name two takes of one shot"):
        follow_takes(OldTake(MeasureRequest(films[0])), MeasureRequest(other), _bench(tmp_path))
    with pytest.raises(InputError, match="give a crit that was begun in the room"):
        old_take(tmp_path / "none.crit")
