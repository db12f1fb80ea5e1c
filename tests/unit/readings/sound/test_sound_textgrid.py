"""TextGrid in and out."""

from __future__ import annotations

from pathlib import Path

import pytest
from praatio import textgrid as praat

from shotcrit.errors import InputError
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Breath, Phone, Word
from shotcrit.readings.sound.textgrid import read_textgrid, to_phone, write_textgrid

WORDS = (Word("kite", "Ada", 0.5, 0.9), Word("no", "Ben", 1.0, 1.3, line=1), Word("up", "Ada", 1.5, 1.75))
PHONES = (
    Phone("K", None, 0, 0.5, 0.6), Phone("AY", 1, 0, 0.6, 0.8), Phone("T", None, 0, 0.8, 0.9),
    Phone("N", None, 1, 1.0, 1.1), Phone("OW", 1, 1, 1.1, 1.3), Phone("AH", 0, 2, 1.5, 1.65), Phone("P", None, 2, 1.65, 1.75),
)  # fmt: skip
SOUND = SoundReadings(words=WORDS, phones=PHONES, breaths=(Breath("inhale", 0.1, 0.4, 12.0),))


def test_round_trip_with_an_offset(tmp_path: Path) -> None:
    path = tmp_path / "talk.TextGrid"
    write_textgrid(path, SOUND, 3.0, offset_s=0.05)
    track = read_textgrid(path)
    back = track.spoken.shifted(0.05)
    assert [(w.text, w.who) for w in back.words] == [(w.text, w.who) for w in WORDS]
    assert [w.start_s for w in back.words] == pytest.approx([w.start_s for w in WORDS])
    assert [(p.phone, p.stress, p.word) for p in back.phones] == [(p.phone, p.stress, p.word) for p in PHONES]
    assert [p.end_s for p in back.phones] == pytest.approx([p.end_s for p in PHONES])
    assert [(b.kind, b.start_s) for b in track.breaths] == [("inhale", pytest.approx(0.05))]
    assert [(x.who, x.text, x.heard) for x in back.lines] == [("Ada", "kite up", True), ("Ben", "no", True)]


def test_tiers_are_seen_by_the_library_itself(tmp_path: Path) -> None:
    path = tmp_path / "talk.TextGrid"
    write_textgrid(path, SOUND, 3.0)
    grid = praat.openTextgrid(str(path), includeEmptyIntervals=False)
    assert grid.tierNames == ("Ada - words", "Ada - phones", "Ben - words", "Ben - phones", "breaths")
    assert [e.label for e in grid.getTier("Ada - phones").entries] == ["K", "AY1", "T", "AH0", "P"]


def test_nothing_said_still_makes_a_file(tmp_path: Path) -> None:
    path = tmp_path / "empty.TextGrid"
    write_textgrid(path, SoundReadings(), 1.0)
    with pytest.raises(InputError, match="no tier of words"):
        read_textgrid(path)


@pytest.mark.parametrize(
    ("label", "phone"),
    [
        ("AA1", ("AA", 1)), ("t", ("T", None)),
        ("t\u0361ʃ", ("CH", None)), ("aː", ("AA", None)), ("tʰ", ("T", None)), ("ɛ\u0303", ("EH", None)), ("aɪ", ("AY", None)),
    ],
)  # fmt: skip
def test_labels_of_other_aligners(label: str, phone: tuple[str, int | None]) -> None:
    assert to_phone(label, "x") == phone


def test_a_label_that_is_no_phone() -> None:
    with pytest.raises(InputError, match="'7' is no phone"):
        to_phone("7", "x.TextGrid")


SHORT = """File type = "ooTextFile"
Object class = "TextGrid"

0
1
<exists>
1
"IntervalTier"
"words"
0
1
1
{}
{}
"kite"
"""


def test_the_short_form_is_read(tmp_path: Path) -> None:
    path = tmp_path / "short.TextGrid"
    path.write_text(SHORT.format(0, 1), encoding="utf-8")
    assert [(w.text, w.start_s, w.end_s) for w in read_textgrid(path).spoken.words] == [("kite", 0.0, 1.0)]


@pytest.mark.parametrize(
    "data",
    [b"", b"kite", b"\x00\x01\x02" * 50, SHORT.format(0, 1)[:60].encode(), SHORT.format("nan", 1).encode(), SHORT.format(0.9, 0.2).encode(), b"\xff" * 99],
    ids=["empty", "text", "binary", "cut off", "nan", "backwards", "not utf-8"],
)  # fmt: skip
def test_hostile_files_are_one_sentence(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "bad.TextGrid"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_textgrid(path)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_textgrid(tmp_path / "none.TextGrid")
