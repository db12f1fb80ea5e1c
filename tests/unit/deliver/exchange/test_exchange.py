"""What formats hold and cannot, what they refuse, and what hostile words do to them."""

from __future__ import annotations

import builtins
import io
import json
from dataclasses import replace
from fractions import Fraction

import numpy as np
import opentimelineio as otio
import pycmx
import pytest
import webvtt
from jsonschema import Draft202012Validator
from tests.make.counted_crits import RATES, counted_crit
from tests.make.crits import crit as lantern
from tests.make.measured import bare, sound_only
from tests.unit.deliver.test_sheet import HOSTILE, still

from shotcrit.deliver.crit_input import CritForDelivery
from shotcrit.deliver.exchange.captions import chapters_vtt, notes_vtt, words_vtt
from shotcrit.deliver.exchange.clip_otio import clip_otio, read_clip_otio
from shotcrit.deliver.exchange.cut_list import cut_list, plain
from shotcrit.deliver.exchange.format import Format, counting
from shotcrit.deliver.exchange.formats import FORMATS, SOURCES
from shotcrit.deliver.exchange.notes_csv import notes_csv, read_notes_csv
from shotcrit.deliver.exchange.notes_json import NotesFile, notes_json, read_notes_json
from shotcrit.deliver.exchange.readings_parquet import readings_parquet
from shotcrit.deliver.exchange.track_textgrid import track_textgrid
from shotcrit.errors import InputError

CRIT = counted_crit(RATES[1])
COUNT = counting(CRIT)
SEEN = replace(CRIT, notes=tuple(replace(note, still=still(note.shown_at, 320)) for note in CRIT.notes))


def only(made: object) -> bytes:
    (data,) = made.files.values()  # type: ignore[attr-defined]
    assert isinstance(data, bytes)
    return data


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.kind)
def test_every_format_says_what_it_holds_and_is_made_alike_twice(form: Format) -> None:
    assert form.holds.endswith(".")
    assert form.help.endswith(".")
    assert form.make(SEEN).files.keys() == form.make(SEEN).files.keys()


def test_no_two_formats_have_one_name() -> None:
    assert len({form.kind for form in FORMATS}) == len(FORMATS)
    assert len([end for source in SOURCES for end in source.endings]) == len({end for source in SOURCES for end in source.endings})


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.kind)
def test_hostile_names_break_no_format(form: Format) -> None:
    made = form.make(lantern(still, names=HOSTILE))
    assert all(made.files.values())


def test_what_is_lost_is_said() -> None:
    assert notes_csv(CRIT).lost == (
        "A table holds no drawings; those of 1 note are left out.",
        "A table has no place for the word on the whole; it is left out.",
    )
    assert clip_otio(CRIT).lost == notes_json(CRIT).lost == ()
    fast = cut_list(counted_crit(RATES[-1])).lost
    assert "A cut list was made for 24 to 30 frames a second; a program may not take one at 60." in fast
    assert "A cut list puts a note on its first frame alone; where it ends stands in words." in fast
    info = replace(CRIT.measured.readings.movie, variable_rate=True, first_frame=-3)
    uneven = replace(CRIT, measured=replace(CRIT.measured, readings=replace(CRIT.measured.readings, movie=info)))
    assert any("come unevenly" in sentence for sentence in clip_otio(uneven).lost)
    assert any("no numbers below nought" in sentence for sentence in notes_json(uneven).lost)


def test_what_a_shot_lacks_is_said_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    silent = replace(CRIT, measured=bare(4), notes=())
    for make, word in ((words_vtt, "nothing that is said"), (track_textgrid, "has no sound")):
        with pytest.raises(InputError, match=word):
            make(silent)
    with pytest.raises(InputError, match="has no pictures"):
        cut_list(replace(CRIT, measured=sound_only(), notes=()))
    with pytest.raises(InputError, match=r"time code does not exist at 12\.5"):
        cut_list(replace(CRIT, measured=_at(Fraction(25, 2))))
    monkeypatch.setattr(builtins, "__import__", _without_pyarrow(builtins.__import__))
    with pytest.raises(InputError, match=r"shotcrit\[parquet\]"):
        readings_parquet(CRIT)


def _at(rate: Fraction) -> object:
    return counted_crit(replace(RATES[0], rate=rate)).measured


def _without_pyarrow(real: object) -> object:
    def imported(name: str, *rest: object, **more: object) -> object:
        if name.startswith("pyarrow"):
            raise ImportError(name)
        return real(name, *rest, **more)  # type: ignore[operator]

    return imported


def test_a_formula_stays_text_and_comes_back_as_it_was() -> None:
    data = only(notes_csv(CRIT))
    assert b",'=The drop" in data or b",\"'=The drop" in data
    assert read_notes_csv(data, "notes.csv", COUNT).notes[1].what == CRIT.notes[1].what
    early = b"first,what\n1046,'tis early\n"
    assert read_notes_csv(early, "notes.csv", COUNT).notes[0].what == "'tis early"


@pytest.mark.parametrize("apart", [",", ";", "\t"])
def test_a_table_of_two_columns_is_enough(apart: str) -> None:
    text = f"\ufeffFirst{apart}What\r\n1046{apart}Hold it.\r\n\r\n"
    (one,) = read_notes_csv(text.encode(), "notes.csv", COUNT).notes
    assert (one.first, one.last, one.what, one.weight) == (45, 45, "Hold it.", "polish")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", "no column 'first'"),
        (b"first,words\n1046,a\n", "no column 'what'"),
        (b"first,what\nabc,a\n", "line 2 has a first or last frame"),
        (b"first,what\n1046,\n", "line 2 says nothing"),
        (b"first,what\n1000,a\n", "line 2 lies on frame 1000, and the take runs from 1001 to 1264"),
        (b"first,last,what\n1046,1040,a\n", "lies on frames 1046 to 1040"),
        (b"first,what,weight\n1046,a,huge\n", "the weight 'huge'"),
        (b"first,what,rate\n1046,a,25/1\n", "counts at 25 frames a second"),
        (b"first,what,first_frame\n1046,a,1\n", "counts from frame 1, and the take from 1001"),
        (b'first,what\n1046,"a', "is not CSV"),
        (b"first,what\n1046,\xff\xfe\n", "not UTF-8"),
        (b"first,what\n" + b"1046,a\n" * 2001, "2,000 are the most"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_in_a_sentence(text: bytes, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read_notes_csv(text, "notes.csv", COUNT)


def test_json_holds_all_of_it() -> None:
    data = only(notes_json(CRIT))
    Draft202012Validator(NotesFile.model_json_schema(by_alias=True)).validate(json.loads(data))
    back = read_notes_json(data, "notes.json", COUNT).notes
    assert [(n.id, n.at, n.drawings) for n in back] == [(n.id, n.at, n.drawings) for n in CRIT.notes]


@pytest.mark.parametrize("data", [b"", b"[]", b"{}", b'{"schema": "shotcrit.notes/2"}', b"[" * 100_000, b"\xff"])
def test_json_of_another_kind_is_refused_in_a_sentence(data: bytes) -> None:
    with pytest.raises(InputError):
        read_notes_json(data, "notes.json", COUNT)


def test_a_timeline_brings_back_strokes_and_what_was_changed_elsewhere() -> None:
    text = only(clip_otio(CRIT)).decode()
    back = read_clip_otio(text.encode(), "a.otio", COUNT).notes
    assert [(n.id, n.at) for n in back] == [(n.id, n.at) for n in CRIT.notes]
    (was,), (now,) = CRIT.notes[1].drawings, back[1].drawings
    assert (now.first, now.last, [s.tool for s in now.strokes]) == (was.first, was.last, [s.tool for s in was.strokes])
    np.testing.assert_allclose(
        now.strokes[0].points, was.strokes[0].points, rtol=1e-15
    )  # OpenTimelineIO reads doubles to their last digit but one
    whole = otio.adapters.read_from_string(text, "otio_json")
    (clip,) = whole.find_clips()
    marker = clip.markers[1]
    marker.comment = "Keep it, but later."
    marker.marked_range = otio.opentime.TimeRange(
        marker.marked_range.start_time + otio.opentime.RationalTime(10, 24), marker.marked_range.duration
    )
    moved = read_clip_otio(otio.adapters.write_to_string(whole, "otio_json").encode(), "a.otio", COUNT).notes[1]
    assert (moved.first, moved.last, moved.what, moved.at) == (69, 75, "Keep it, but later.", 71)
    assert [(d.first, d.last) for d in moved.drawings] == [(70, 72)]


def test_markers_of_other_programs_are_read_where_they_lie() -> None:
    """On a clip that begins at ten hours, on its track, and without a length."""
    time = otio.opentime.RationalTime
    media = otio.schema.ExternalReference("a.mov", otio.opentime.TimeRange(time(864000, 24), time(264, 24)))
    clip = otio.schema.Clip("a", media, otio.opentime.TimeRange(time(864010, 24), time(100, 24)))
    clip.markers.append(otio.schema.Marker("Look here", otio.opentime.TimeRange(time(864045, 24), time(0, 24))))
    track = otio.schema.Track("v", children=[clip])
    track.markers.append(otio.schema.Marker("of the track", otio.opentime.TimeRange(time(35, 24), time(2, 24)), comment="It sticks."))
    whole = otio.schema.Timeline("t")
    whole.tracks.append(track)
    back = read_clip_otio(otio.adapters.write_to_string(whole, "otio_json").encode(), "a.otio", COUNT).notes
    assert [(n.first, n.last, n.what) for n in back] == [(45, 45, "Look here"), (45, 46, "It sticks.")]


def test_a_timeline_that_cannot_be_read_is_refused_in_a_sentence() -> None:
    two = otio.schema.Timeline("t")
    two.tracks.append(otio.schema.Track("v", children=[otio.schema.Clip("a"), otio.schema.Clip("b")]))
    for data, says in (
        (b"", "no OpenTimelineIO file"),
        (b"[" * 100_000, "no OpenTimelineIO file"),
        (b'{"a":' * 5_000 + b"1" + b"}" * 5_000, "no OpenTimelineIO file"),
        (b'{"OTIO_SCHEMA": "Nothing.1"}', "holds no clips|no OpenTimelineIO file"),
        (otio.adapters.write_to_string(two, "otio_json").encode(), "holds 2 clips"),
        (only(clip_otio(counted_crit(RATES[2]))), "counts at 25 frames a second, and the take runs at 24"),
    ):
        with pytest.raises(InputError, match=says):
            read_clip_otio(data, "a.otio", COUNT)


def test_no_words_break_a_file_of_captions() -> None:
    evil = "a --> b\n\n00:00:00.000 --> 00:00:09.000\n<v Bram>not his & \u2028 words"
    crit = replace(CRIT, notes=(replace(CRIT.notes[0], what=evil), CRIT.notes[1]))
    notes = webvtt.from_string(only(notes_vtt(crit)).decode()).captions
    assert len(notes) == 2
    assert "not his" in notes[0].raw_text
    assert len(webvtt.from_string(only(chapters_vtt(crit)).decode()).captions) == 3


def test_chapters_run_from_note_to_note_without_a_gap() -> None:
    cues = webvtt.from_string(only(chapters_vtt(CRIT)).decode()).captions
    assert cues[0].text == "Lantern 040"
    assert len(cues) == 3
    assert cues[-1].end == "00:00:11.000"


def test_a_cut_list_is_ascii_on_one_line() -> None:
    assert plain("\u201cf\u00fcr\u201d\n\u4e16 \u2026") == '"fur" ? ...'
    crit = replace(CRIT, notes=(replace(CRIT.notes[0], what="Two\nlines\r\n002  X V C"),))
    edl = pycmx.parse_cmx3600(io.StringIO(only(cut_list(crit)).decode("ascii")))
    assert len(list(edl.events)) == 3


def test_a_shot_without_notes_can_be_sent() -> None:
    empty: CritForDelivery = replace(CRIT, notes=(), one_thing=None, overall="")
    for form in FORMATS:
        if form.kind in ("stills", "drawings"):
            with pytest.raises(InputError, match=f"leave {form.kind} out"):
                form.make(empty)
        else:
            assert form.make(empty).files
