"""Notes that were written elsewhere, brought into a crit: one edit, told in a sentence, and nothing at all of a file that is not sound."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.make.counted_crits import RATES, counted_crit
from tests.make.reviews import SHOT, Desktop, note, take

from shotcrit.crit.brought import bring_in
from shotcrit.crit.edits import Edit, inverse, make
from shotcrit.crit.notes import in_order
from shotcrit.crit.records import Drawing, Note
from shotcrit.deliver.exchange.clip_otio import clip_otio
from shotcrit.deliver.exchange.notes_json import notes_json
from shotcrit.errors import InputError
from shotcrit.measuring.bring import bring
from shotcrit.store.crit_file import CritFile

WROTE = ["Oona's lids close early; look at 1046.", "=The drop before \u201cpromised\u201d,\nit sells; the line"]


@pytest.fixture
def lantern(tmp_path: Path) -> Path:
    path = tmp_path / "lantern.crit"
    with CritFile.create(path) as crit:
        things = (SHOT, take(), note("there"))
        crit.edit("Ben", lambda _: Edit("begin", tuple(make(thing) for thing in things)))
    return path


def notes_of(path: Path) -> list[Note]:
    with CritFile.open(path) as crit, crit.view() as view:
        return list(in_order(view, "take1"))


def written(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("made", [clip_otio, notes_json], ids=["otio", "json"])
def test_notes_come_in_behind_those_that_are_there_with_their_drawings(lantern: Path, made: object, tmp_path: Path) -> None:
    ((name, data),) = made(counted_crit(RATES[1])).files.items()  # type: ignore[operator]
    file = written(tmp_path, name, data)
    assert bring(file, lantern, number=None, who="Ben") == "2 notes and 1 drawing brought in."
    there = notes_of(lantern)
    assert [n.what for n in there] == ["She looks over his head.", *WROTE]
    assert (there[1].first, there[2].first, there[2].last, there[2].still) == (45, 59, 65, 61)
    with CritFile.open(lantern) as crit, crit.view() as view:
        (drawing,) = view.all(Drawing, take="take1")
    assert there[2].drawings == (drawing.id,)
    assert (drawing.first, drawing.last, len(drawing.strokes)) == (60, 62, 6)
    assert bring(file, lantern, number=1, who="Ben") == "no notes and no drawings brought in; 2 notes were there already."
    assert len(notes_of(lantern)) == 3


def test_a_drawing_by_itself_comes_in_on_its_frames(lantern: Path, tmp_path: Path) -> None:
    svg = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 9"><path d="M1 1L9 9" stroke="red"/><image/></svg>'
    told = bring(written(tmp_path, "brow-frame1046-1048.svg", svg), lantern, number=None, who="Ben")
    assert told == "no notes and 1 drawing brought in. 1 thing in brow-frame1046-1048.svg is no line, and was passed over."
    with CritFile.open(lantern) as crit, crit.view() as view:
        (drawing,) = view.all(Drawing, take="take1")
    assert (drawing.first, drawing.last, drawing.strokes[0].colour) == (45, 47, "red")


def test_one_undo_takes_them_out_again() -> None:
    desk = Desktop()
    came = bring_in(
        desk, "take1", [note("a", drawings=("d",)), note("b", what="Another.")], [Drawing(id="d", take="take1", first=10, last=11)]
    )
    assert (came.notes, came.drawings, came.known) == (2, 1, 0)
    desk.do(came.edit)
    assert [n.id for n in in_order(desk, "take1")] == ["a", "b"]
    desk.do(inverse(came.edit))
    assert in_order(desk, "take1") == ()
    assert desk.all(Drawing) == ()


def test_a_drawing_of_a_note_that_is_there_is_not_put_twice() -> None:
    desk = Desktop((SHOT, take(), note("there")))
    came = bring_in(desk, "take1", [note("again", drawings=("d",))], [Drawing(id="d", take="take1", first=10, last=11)])
    assert (came.notes, came.drawings, came.known, came.edit.changes) == (0, 0, 1, ())


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("notes.txt", b"hello", "give one that ends in"),
        ("notes.csv", b"first,what\n", "holds no notes and no drawings"),
        ("notes.csv", b"first,what\n1046,good\n9999,bad\n", "line 3 lies on frame 9999"),
        ("notes.json", b"{", "holds no notes that can be read"),
    ],
)
def test_a_file_that_is_not_sound_changes_nothing(lantern: Path, tmp_path: Path, name: str, data: bytes, says: str) -> None:
    before = lantern.read_bytes()
    with pytest.raises(InputError, match=says):
        bring(written(tmp_path, name, data), lantern, number=None, who="Ben")
    assert [n.id for n in notes_of(lantern)] == ["there"]
    assert lantern.read_bytes() == before


def test_what_is_not_there_is_named(lantern: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"gone\.csv cannot be read"):
        bring(tmp_path / "gone.csv", lantern, number=None, who="Ben")
    with pytest.raises(InputError, match=r"gone\.crit does not exist"):
        bring(tmp_path / "a.csv", tmp_path / "gone.crit", number=None, who="Ben")
    with pytest.raises(InputError, match="has no take 4"):
        bring(written(tmp_path, "a.csv", b"first,what\n1046,a\n"), lantern, number=4, who="Ben")
