"""What was asked on older takes, and what the reviewer says to it on the next: pure edits on a crit held in memory."""

from __future__ import annotations

import pytest
from tests.make.reviews import SHOT, Desktop, note, take

from shotcrit.crit.asked import There, asked_before, asked_on, settle
from shotcrit.crit.records import Drawing, Note, Stroke, Take
from shotcrit.crit.view import NotHere, need
from shotcrit.errors import InputError

ON_TWO = There(20, 24, 21)
DRAWN = Drawing(id="d1", take="take1", first=10, last=12, strokes=(Stroke(points=((0.5, 0.5, 0.5, 0.0),)),))


@pytest.fixture
def desk() -> Desktop:
    """Two takes; on the first a note with a drawing, praise, and one that is closed."""
    notes = (
        note("n1", weight="must", place=1.0, drawings=("d1",), suggest="Lower the irises."),
        note("n2", weight="keep", what="The little drop sells it.", place=2.0),
        note("n3", place=3.0, closed=True),
    )
    return Desktop((SHOT, take(), take("take2", number=2), take("take3", number=3), DRAWN, *notes))


def _listed(desk: Desktop, on: str) -> list[str]:
    return [n.id for n in asked_before(desk, need(desk, Take, on))]


def _fresh(desk: Desktop, on: str = "take2") -> Note:
    (found,) = desk.all(Note, take=on)
    return found


def test_what_to_keep_comes_first_and_what_is_closed_not_at_all(desk: Desktop) -> None:
    assert _listed(desk, "take2") == ["n2", "n1"]
    assert _listed(desk, "take1") == []


def test_a_note_that_was_done_is_closed_stays_on_this_list_and_is_on_no_further_one(desk: Desktop) -> None:
    desk.do(settle(desk, "n1", "take2", "done", None))
    assert need(desk, Note, "n1").closed
    assert _listed(desk, "take2") == ["n2", "n1"]
    assert _listed(desk, "take3") == ["n2"]
    desk.do(settle(desk, "n1", "take2", None, None))
    assert (need(desk, Note, "n1").closed, need(desk, Note, "n1").settled) == (False, None)


def test_a_note_asked_again_lies_on_the_new_frames_with_its_drawing_and_its_history(desk: Desktop) -> None:
    desk.do(settle(desk, "n1", "take2", "again", ON_TWO))
    again = _fresh(desk)
    assert (again.first, again.last, again.still, again.weight, again.suggest) == (20, 24, 21, "must", "Lower the irises.")
    assert asked_on(desk, again) == (1, 2)
    (copied,) = desk.all(Drawing, take="take2")
    assert (again.drawings, copied.first, copied.strokes) == ((copied.id,), 20, DRAWN.strokes)
    assert not need(desk, Note, "n1").closed, "what is asked again is not done"
    assert _listed(desk, "take3") == ["n2", again.id]


def test_a_change_of_mind_takes_the_note_that_asked_again_along(desk: Desktop) -> None:
    desk.do(settle(desk, "n1", "take2", "again", ON_TWO))
    assert settle(desk, "n1", "take2", "again", ON_TWO).changes == (), "pressed twice, nothing that was worded since is lost"
    desk.do(settle(desk, "n1", "take2", "dropped", None))
    assert (desk.all(Note, take="take2"), desk.all(Drawing, take="take2")) == ((), ())
    assert need(desk, Note, "n1").closed


def test_praise_that_has_gone_is_asked_for_and_says_so(desk: Desktop) -> None:
    desk.do(settle(desk, "n2", "take2", "again", ON_TWO))
    assert _fresh(desk).weight == "polish"
    assert _fresh(desk).what == "Gone since take 1, where it was praised: The little drop sells it."


def test_nothing_is_asked_again_on_frames_that_nobody_knows(desk: Desktop) -> None:
    with pytest.raises(InputError, match="not lined up yet"):
        settle(desk, "n1", "take2", "again", None)
    with pytest.raises(NotHere, match="closed, or answered on another"):
        settle(desk, "n3", "take2", "done", None)
