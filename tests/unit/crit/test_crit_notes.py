"""Notes and drawings, on a crit held in memory."""

from __future__ import annotations

import pytest
from tests.make.reviews import Desktop, note

from shotcrit.crit import notes
from shotcrit.crit.edits import inverse
from shotcrit.crit.records import Drawing, Note, Stroke, Take
from shotcrit.crit.view import NotHere
from shotcrit.errors import InputError


def _order(desk: Desktop) -> list[str]:
    return [n.id for n in notes.in_order(desk, "take1")]


def _with_notes(*names: str) -> Desktop:
    desk = Desktop()
    for name in names:
        desk.do(notes.write_note(desk, note(name)))
    return desk


def test_notes_stand_in_the_order_they_were_written() -> None:
    assert _order(_with_notes("c", "a", "b")) == ["c", "a", "b"]


def test_a_note_can_be_written_behind_another() -> None:
    desk = _with_notes("a", "b")
    desk.do(notes.write_note(desk, note("x"), after="a"))
    assert _order(desk) == ["a", "x", "b"]


@pytest.mark.parametrize(
    ("after", "expected"),
    [(None, ["c", "a", "b", "d"]), ("a", ["a", "c", "b", "d"]), ("b", ["a", "b", "c", "d"]), ("d", ["a", "b", "d", "c"])],
)
def test_moving_a_note(after: str | None, expected: list[str]) -> None:
    desk = _with_notes("a", "b", "c", "d")
    desk.do(notes.move_note(desk, "c", after))
    assert _order(desk) == expected


def test_a_hundred_moves_into_the_same_gap_keep_the_order() -> None:
    desk = _with_notes("a", "b", "c")
    for turn in range(100):
        mover, other = ("b", "c") if turn % 2 else ("c", "b")
        desk.do(notes.move_note(desk, mover, "a"))
        assert _order(desk) == ["a", mover, other]


def test_moving_and_its_inverse_give_back_the_same_places() -> None:
    desk = _with_notes("a", "b", "c")
    before = dict(desk.things)
    edit = notes.move_note(desk, "c", None)
    desk.do(edit)
    assert _order(desk) == ["c", "a", "b"]
    desk.do(inverse(edit))
    assert {k: v.model_copy(update={"version": 0}) for k, v in desk.things.items()} == {
        k: v.model_copy(update={"version": 0}) for k, v in before.items()
    }


def test_frames_outside_the_take_are_refused_by_their_shown_numbers() -> None:
    desk = Desktop()
    with pytest.raises(InputError, match="runs from 1001 to 1264"):
        notes.write_note(desk, note("a", 263, 264))
    desk.do(notes.write_note(desk, note("a", 263, 263)))
    with pytest.raises(InputError, match="1001 to 1264"):
        notes.change_note(desk, "a", {"last": 264})
    with pytest.raises(InputError, match="comes before the first"):
        notes.change_note(desk, "a", {"last": 262})


def test_changing_a_note_touches_only_the_fields_that_differ() -> None:
    desk = _with_notes("a")
    edit = notes.change_note(desk, "a", {"what": "She looks over his head.", "try": "Drop the irises."})
    assert [(c.before, c.after) for c in edit.changes] == [({"try": ""}, {"try": "Drop the irises."})]
    assert notes.change_note(desk, "a", {"weight": "polish"}).changes == ()


def test_a_note_with_a_drawing_that_is_not_there_is_refused() -> None:
    desk = _with_notes("a")
    with pytest.raises(NotHere, match="drawing 'd9'"):
        notes.change_note(desk, "a", {"drawings": ["d9"]})


def test_deleting_the_note_that_matters_most_leaves_no_trace_of_it() -> None:
    desk = _with_notes("a")
    take = desk.get(Take, "take1")
    assert take is not None
    desk.things[(Take, "take1")] = take.model_copy(update={"one_thing": "a"})
    desk.do(notes.drop_note(desk, "a"))
    assert desk.get(Note, "a") is None
    now = desk.get(Take, "take1")
    assert now is not None
    assert now.one_thing is None


def _drawing(name: str = "d1", first: int = 10, last: int = 12) -> Drawing:
    stroke = Stroke(points=((0.5, 0.25, 0.5, 0.0), (0.75, 0.5, 1.0, 16.0)))
    return Drawing(id=name, take="take1", first=first, last=last, strokes=(stroke,))


def test_a_drawing_is_pinned_to_its_note_and_unpinned_when_deleted() -> None:
    desk = _with_notes("a")
    desk.do(notes.draw(desk, _drawing(), note="a"))
    assert desk.all(Note)[0].drawings == ("d1",)
    desk.do(notes.drop_drawing(desk, "d1"))
    assert desk.all(Note)[0].drawings == ()
    assert desk.all(Drawing) == ()


def test_strokes_are_put_on_top() -> None:
    desk = Desktop()
    desk.do(notes.draw(desk, _drawing()))
    desk.do(notes.add_strokes(desk, "d1", (Stroke(tool="arrow", points=((0.1, 0.1, 1, 0), (0.2, 0.1, 1, 5))),)))
    assert [s.tool for s in desk.all(Drawing)[0].strokes] == ["pencil", "arrow"]


def test_a_drawing_over_frames_the_take_does_not_have_is_refused() -> None:
    desk = Desktop()
    with pytest.raises(InputError, match="not in the take"):
        notes.draw(desk, _drawing(first=260, last=264))
    desk.do(notes.draw(desk, _drawing()))
    with pytest.raises(InputError, match="not in the take"):
        notes.change_drawing(desk, "d1", {"last": 264})


def test_copies_along_a_path_move_by_what_the_path_moved() -> None:
    path = {10: (0.5, 0.5), 11: (0.5625, 0.5), 12: (0.625, 0.375)}
    edit = notes.copy_along(_drawing(first=10, last=10), path, {11: "c11", 12: "c12"})
    made = [(c.id, c.after["first"], c.after["last"], c.after["strokes"][0]["points"][0][:2]) for c in edit.changes if c.after]
    assert made == [("c11", 11, 11, [0.5625, 0.25]), ("c12", 12, 12, [0.625, 0.125])]


def test_a_path_unknown_at_the_drawing_gives_no_copies() -> None:
    with pytest.raises(InputError, match="not known on the drawing's first frame"):
        notes.copy_along(_drawing(), {11: (0.5, 0.5)}, {11: "c"})
