"""Only what changed is followed again, what was stopped goes on where it was, and the answer is the same as when all is followed at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.make.heads3d import Heads, Pose, render
from tests.make.played import Played, placed_cast

from shotcrit.errors import Stopped
from shotcrit.measuring import followed as module
from shotcrit.measuring.characters import Learnt, lessons_of
from shotcrit.measuring.followed import Following, followed
from shotcrit.progress import Quiet
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.cast import Cast, Placed, Prop
from shotcrit.readings.picture.acting import acting_from_marks
from shotcrit.store.cache import open_cache

LENGTH = 10
SIZE = (300, 260)
SHA = "a" * 64


@cache
def head() -> Heads:
    """A head that turns and speaks a little."""
    t = np.arange(LENGTH) / 24
    turn = np.column_stack([8 * np.sin(3 * t), 3 * np.sin(2 * t), 0 * t])
    opening = np.clip(0.5 * np.sin(12 * t), 0, 1)
    return render([Pose(tuple(turn[i]), (0.0, 0.0, 2.0), (0.0, 0.0), 1.0, float(opening[i]), 1.0) for i in range(LENGTH)], SIZE)


def cast() -> Cast:
    """Ada's face on two frames, and a prop that is a spot on the backdrop."""
    people = placed_cast(head(), 0, [3]).characters
    return Cast(characters=people, props=(Prop(name="kite", marks={"tail": (Placed(frame=1, x=0.1, y=0.12),)}),))


class Workbench:
    """A cache of its own, and what was asked to be measured."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.movie = Played(head().frames)
        self.asked: list[tuple[list[str], set[str]]] = []
        self.work = Following(self.movie, (), (), open_cache(root=folder).medium(SHA), Quiet())  # type: ignore[arg-type]
        real = module.measure_marks

        def measure_marks(movie: Any, wanted: Cast, cuts: Sequence[int], **how: Any) -> Any:
            self.asked.append(([p.name for p in wanted.marked], {f"{t.who}.{t.mark}" for t in how["followed"]}))
            return real(movie, wanted, cuts, **how)

        monkeypatch.setattr(module, "measure_marks", measure_marks)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Workbench:
    return Workbench(tmp_path / "cache", monkeypatch)


def same(a: Acting, b: Acting) -> None:
    assert (a.who, a.lacks, a.worth, set(a.marks)) == (b.who, b.lacks, b.worth, set(b.marks))
    for name, track in a.marks.items():
        np.testing.assert_allclose(track.xy, b.marks[name].xy, atol=1e-5)
        assert track.placed == b.marks[name].placed
    if a.mouth is not None and b.mouth is not None:
        np.testing.assert_allclose(a.mouth.opening, b.mouth.opening, atol=1e-4)
    assert (a.mouth is None) == (b.mouth is None)


def test_the_same_as_all_at_once_and_nothing_twice(bench: Workbench) -> None:
    whole = acting_from_marks(bench.movie, cast(), ())
    for one, other in zip(followed(cast(), bench.work), whole, strict=True):
        same(one, other)
    assert bench.asked == [(["Ada", "kite"], set())]
    assert [a.who for a in followed(cast(), bench.work)] == ["Ada", "kite"]
    assert len(bench.asked) == 1


def test_a_changed_mark_is_followed_alone(bench: Workbench) -> None:
    before = followed(cast(), bench.work)
    kite = Prop(name="kite", marks={"tail": (Placed(frame=2, x=0.12, y=0.12),)})
    after = followed(cast().model_copy(update={"props": (kite,)}), bench.work)
    assert bench.asked[1] == (["kite"], set())
    same(after[0], before[0])
    assert after[1].marks["tail"].placed == (1,)

    kite = Prop(name="kite", marks={**kite.marks, "bow": (Placed(frame=1, x=0.9, y=0.1),)})
    followed(cast().model_copy(update={"props": (kite,)}), bench.work)
    assert bench.asked[2] == (["kite"], {"kite.tail"})
    # Back to what was: nothing is measured at all.
    followed(cast(), bench.work)
    assert len(bench.asked) == 3


def test_looks_and_contacts_follow_nothing(bench: Workbench) -> None:
    followed(cast(), bench.work)
    data = {**cast().model_dump(), "looks": [{"who": "Ada", "at": "camera"}]}
    followed(Cast.model_validate(data), bench.work)
    assert len(bench.asked) == 1


class StopAt:
    """Progress that stops at a stage."""

    def __init__(self, stage: str) -> None:
        self.stage = stage

    def step(self, stage: str, done: float, total: float | None) -> None:
        if stage == self.stage:
            raise Stopped(stage)


def test_what_was_followed_before_a_stop_is_kept(bench: Workbench) -> None:
    with pytest.raises(Stopped):
        followed(cast(), replace(bench.work, progress=StopAt("steadying heads")))
    followed(cast(), bench.work)
    assert {"Ada.nose", "Ada.chin", "kite.tail"} <= bench.asked[1][1]
    assert not any(".mouth" in name or ".lip" in name for name in bench.asked[1][1])  # those are never followed by texture


def test_tracks_are_told_on_the_way_and_whole_at_the_end(bench: Workbench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shotcrit.readings.picture.marks.follow.TELL_EVERY_S", -1.0)
    told: list[tuple[MarkTrack, ...]] = []
    acting = followed(cast(), replace(bench.work, tell=lambda tracks: told.append(tuple(tracks))))
    count = [sum(int(np.isfinite(t.xy[:, 0]).sum()) for t in tracks) for tracks in told]
    assert len(told) > 2
    assert count[0] < count[-1]
    tail = next(t for t in told[-1] if t.who == "kite")
    np.testing.assert_array_equal(tail.xy, next(a for a in acting if a.who == "kite").marks["tail"].xy)


def test_a_character_without_marks_says_what_it_needs(bench: Workbench) -> None:
    more = placed_cast(head(), 0, []).characters[0].model_copy(update={"name": "Ben", "marks": {}})
    acting = followed(cast().model_copy(update={"characters": (*cast().characters, more)}), bench.work)
    assert [a.who for a in acting] == ["Ada", "Ben", "kite"]
    assert set(acting[1].lacks) == {"mouth", "eyes"}


def test_what_was_learnt_serves_the_next_shot_of_the_same_show(bench: Workbench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    learnt = Learnt(tmp_path / "show", "kite 010")
    followed(cast(), replace(bench.work, learnt=learnt))
    assert [(lesson.shot, lesson.mouths) for lesson in lessons_of(learnt.folder, "Ada")] == [("kite 010", 2)]

    # The next shot: another movie, in which the mouth is marked on one frame only.
    other = Workbench(tmp_path / "other", monkeypatch)
    once = Cast(characters=placed_cast(head(), 0, []).characters)
    alone = followed(once, other.work)[0]
    other.movie.info = replace(other.movie.info, sha256="b" * 64)
    helped = followed(once, replace(other.work, learnt=Learnt(learnt.folder, "kite 020")))[0]
    assert alone.mouth is not None
    assert helped.mouth is not None
    assert set(helped.mouth.taught) > set(alone.mouth.taught)
    second = next(lesson for lesson in lessons_of(learnt.folder, "Ada") if lesson.shot == "kite 020")
    assert (second.mouths, second.taught_by) == (1, (bench.movie.info.sha256,))
