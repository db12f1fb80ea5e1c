"""What was learnt of a character is kept by shot, serves other shots, stays the same for a shot that was measured, and can be forgotten."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from shotcrit.measuring.characters import SUFFIX, Learnt, forget, keep_lesson, known_to, lessons_of, own_part
from shotcrit.readings.picture.character_model import CharacterModel
from shotcrit.readings.picture.mouth.model import SIZE
from shotcrit.readings.picture.mouth.warp import MarkedMouth

ONE, TWO, THREE = (digit * 64 for digit in "123")


def mouth(grey: float) -> MarkedMouth:
    spots = [np.array([x, y], float) for x, y in ((70, 40), (26, 40), (48, 38), (48, 42))]
    return MarkedMouth(np.full((SIZE[1], SIZE[0]), grey, np.float32), *spots)


def model(*greys: float, who: str = "Ada") -> CharacterModel:
    return CharacterModel(who, tuple(mouth(g) for g in greys))


def greys(folder: Path, sha256: str, who: str = "Ada") -> list[float]:
    """Which mouths are known when a movie is measured, by the grey of their patches."""
    known = known_to(Learnt(folder, "kite 030"), [who], sha256)
    return [float(m.patch[0, 0]) for m in known[who].model.mouths] if who in known else []


def test_a_shot_teaches_the_next_one_and_not_itself(tmp_path: Path) -> None:
    keep_lesson(Learnt(tmp_path, "kite 010"), model(10, 20), [], ONE)
    assert greys(tmp_path, ONE) == []
    assert greys(tmp_path, TWO) == [10, 20]
    assert greys(tmp_path, TWO, who="Ben") == []
    lesson = lessons_of(tmp_path, "Ada")[0]
    assert (lesson.who, lesson.shot, lesson.sha256, lesson.mouths) == ("Ada", "kite 010", ONE, 2)


def test_a_shot_once_measured_keeps_its_teachers(tmp_path: Path) -> None:
    """Else a shot's numbers would change whenever a later one is marked."""
    keep_lesson(Learnt(tmp_path, "kite 010"), model(10), [], ONE)
    keep_lesson(Learnt(tmp_path, "kite 020"), model(20), [], TWO)
    assert greys(tmp_path, ONE) == []  # it was measured when nothing was known
    keep_lesson(Learnt(tmp_path, "kite 030"), model(30), [ONE], THREE)
    assert greys(tmp_path, THREE) == [10]
    assert forget(tmp_path, "Ada", THREE) == 1  # learn afresh: from all that there is now
    assert sorted(greys(tmp_path, THREE)) == [10, 20]


def test_what_is_forgotten_serves_no_more(tmp_path: Path) -> None:
    for sha, grey in ((ONE, 10), (TWO, 20)):
        keep_lesson(Learnt(tmp_path, "kite"), model(grey), [], sha)
    keep_lesson(Learnt(tmp_path, "kite"), model(5, who="Ben"), [], ONE)
    assert forget(tmp_path, "Ada", ONE) == 1
    assert greys(tmp_path, THREE) == [20]
    assert forget(tmp_path, "Ada") == 1
    assert greys(tmp_path, THREE) == []
    assert greys(tmp_path, THREE, who="Ben") == [5]
    assert forget(tmp_path, "Ada") == 0


def test_an_empty_lesson_remembers_the_teachers_and_teaches_nobody(tmp_path: Path) -> None:
    keep_lesson(Learnt(tmp_path, "kite 010"), model(), [], ONE)
    assert greys(tmp_path, TWO) == []
    keep_lesson(Learnt(tmp_path, "kite 020"), model(20), [], TWO)
    assert greys(tmp_path, ONE) == []


def test_only_what_a_shot_taught_itself_is_its_own(tmp_path: Path) -> None:
    keep_lesson(Learnt(tmp_path, "kite 010"), model(10), [], ONE)
    known = known_to(Learnt(tmp_path, "kite 020"), ["Ada"], TWO)
    whole = CharacterModel("Ada", (mouth(20), *known["Ada"].model.mouths))
    assert [float(m.patch[0, 0]) for m in own_part(whole, known).mouths] == [20]
    assert own_part(whole, {}).mouths == whole.mouths


def test_names_never_share_a_file_and_never_leave_the_folder(tmp_path: Path) -> None:
    folder = tmp_path / "show"
    for who in ("Ada", "ada", "../Ada", "Ada/..", "阿达", "A" * 300):
        keep_lesson(Learnt(folder, "kite"), model(7, who=who), [], ONE)
        assert greys(folder, TWO, who=who) == [7]
    assert {p.name for p in tmp_path.iterdir()} == {"show"}
    assert len(list(folder.iterdir())) == 6


def test_the_same_again_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    keep_lesson(Learnt(tmp_path, "kite"), model(10), [], ONE)
    before = lessons_of(tmp_path, "Ada")[0]
    keep_lesson(Learnt(tmp_path, "kite"), model(10), [], ONE)
    assert lessons_of(tmp_path, "Ada")[0] == before
    keep_lesson(Learnt(tmp_path, "kite"), model(11), [], ONE)
    assert lessons_of(tmp_path, "Ada")[0].digest != before.digest


@pytest.mark.parametrize("harm", [b"", b"PK\x03\x04 no zip", b"{}"])
def test_files_that_are_not_ours_are_passed_over(tmp_path: Path, harm: bytes) -> None:
    keep_lesson(Learnt(tmp_path, "kite"), model(10), [], ONE)
    home = lessons_of(tmp_path, "Ada")[0].path.parent
    (home / f"x{SUFFIX}").write_bytes(harm)
    cut = lessons_of(tmp_path, "Ada")[0].path.read_bytes()[:-200]
    (home / f"y{SUFFIX}").write_bytes(cut)
    assert greys(tmp_path, TWO) == [10]


def test_a_folder_that_cannot_be_written_keeps_nothing(tmp_path: Path) -> None:
    (tmp_path / "show").write_text("a file where the folder should be")
    keep_lesson(Learnt(tmp_path / "show", "kite"), model(10), [], ONE)
    assert greys(tmp_path / "show", TWO) == []
