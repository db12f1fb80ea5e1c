"""A note on frame 1046 of a shot that starts at 1001 comes out right in every format, at every rate, and comes back where it can."""

from __future__ import annotations

import csv
import io
import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import opentimelineio as otio
import polars
import pycmx
import pytest
import textgrid
import webvtt
from tests.make.counted_crits import RATES, Rate, counted_crit

from shotcrit.deliver.exchange.captions import chapters_vtt, notes_vtt, words_vtt
from shotcrit.deliver.exchange.clip_otio import clip_otio
from shotcrit.deliver.exchange.cut_list import cut_list
from shotcrit.deliver.exchange.format import counting
from shotcrit.deliver.exchange.formats import FORMATS, SOURCES
from shotcrit.deliver.exchange.notes_csv import notes_csv
from shotcrit.deliver.exchange.notes_json import notes_json
from shotcrit.deliver.exchange.readings_npz import readings_npz
from shotcrit.deliver.exchange.readings_parquet import readings_parquet
from shotcrit.deliver.exchange.sheet_csv import sheet_csv
from shotcrit.deliver.exchange.track_textgrid import COUNT, track_textgrid

FIRST, NOTED = 1001, 1046


@pytest.fixture(params=RATES, ids=lambda row: row.name)
def row(request: pytest.FixtureRequest) -> Rate:
    found: Rate = request.param
    return found


def only(files: object) -> bytes:
    (data,) = files.values()  # type: ignore[attr-defined]
    assert isinstance(data, bytes)
    return data


def test_the_count_itself(row: Rate) -> None:
    count = counting(counted_crit(row))
    assert (count.shown(45), count.timecode(45), count.rate) == (NOTED, row.code, row.rate)
    assert count.drop is (";" in row.code)
    assert count.need_timecode(0) == (row.starts or count.timecode(0))


def test_table(row: Rate) -> None:
    one, two = csv.DictReader(io.StringIO(only(notes_csv(counted_crit(row)).files).decode()))
    assert (one["first"], one["last"], one["first_timecode"], one["first_frame"]) == ("1046", "1046", row.code, "1001")
    assert Fraction(one["rate"]) == row.rate
    assert float(one["start_s"]) == pytest.approx(45 / float(row.rate), abs=1e-6)
    assert (two["first"], two["last"]) == ("1060", "1066")
    assert float(two["end_s"]) == pytest.approx(66 / float(row.rate), abs=1e-6), "just after the last frame"


def test_json(row: Rate) -> None:
    told = json.loads(only(notes_json(counted_crit(row)).files))
    note = told["notes"][0]
    assert (note["first"], note["first_timecode"], told["movie"]["first_frame"]) == (NOTED, row.code, FIRST)
    assert Fraction(told["movie"]["rate"]) == row.rate
    assert told["movie"]["drop_frame"] is (";" in row.code)


def test_clip(row: Rate) -> None:
    """OpenTimelineIO reads it; its own time code of the marker's start is the note's."""
    whole = otio.adapters.read_from_string(only(clip_otio(counted_crit(row)).files).decode(), "otio_json")
    (clip,) = whole.find_clips()
    at = clip.markers[0].marked_range.start_time
    assert at.rate == float(row.rate)
    assert otio.opentime.to_timecode(at, at.rate, ";" in row.code) == row.code
    assert (at - clip.available_range().start_time).to_frames() + clip.metadata["shotcrit"]["first_frame"] == NOTED
    assert whole.global_start_time == clip.available_range().start_time
    assert clip.markers[1].marked_range.duration.to_frames() == 7
    assert Fraction(clip.metadata["shotcrit"]["rate"]) == row.rate


def test_cut_list(row: Rate) -> None:
    """Two readers: OpenTimelineIO's adapter and pycmx."""
    crit = counted_crit(row)
    count = counting(crit)
    text = only(cut_list(crit).files).decode("ascii")
    (track,) = otio.adapters.read_from_string(text, "cmx_3600", rate=float(row.rate)).tracks
    cuts = crit.measured.readings.picture.cuts  # type: ignore[union-attr]
    starts = [clip.source_range.start_time.to_frames() - count.start for clip in track if isinstance(clip, otio.schema.Clip)]
    assert starts == [0, *cuts]
    if not count.drop:  # the adapter knows no drop-frame time code in a comment
        marker = next(clip for clip in track if isinstance(clip, otio.schema.Clip)).markers[0]
        assert marker.marked_range.start_time.to_frames() - count.start + FIRST == NOTED
    edl = pycmx.parse_cmx3600(io.StringIO(text))
    edits = [edit for event in edl.events for edit in event.edits]
    assert [edit.source_in for edit in edits] == [count.timecode(index) for index in (0, *cuts)]
    assert edits[-1].source_out == count.timecode(264)
    assert ("FCM: DROP FRAME" in text) is (";" in row.code)
    assert f"* LOC: {row.code} RED " in text
    assert "FIRST FRAME 1001" in text


def test_captions(row: Rate) -> None:
    """webvtt-py reads them; a player shows a cue on the note's frames and on no other."""
    crit = counted_crit(row)
    clock = crit.measured.readings.clock
    for made in (notes_vtt(crit), chapters_vtt(crit)):
        text = only(made.files).decode()
        assert counting(crit).about() in text
        cues = webvtt.from_string(text).captions
        cue = next(cue for cue in cues if "close early" in cue.text)
        assert clock.frame_at(seconds(cue.start)) + FIRST == NOTED
    note = next(cue for cue in webvtt.from_string(only(notes_vtt(crit).files).decode()).captions if "sells" in cue.text)
    shown = clock.frames(seconds(note.start), seconds(note.end))
    assert shown is not None
    assert (shown.start + FIRST, shown.last + FIRST) == (1060, 1066)


def seconds(stamp: str) -> Fraction:
    hours, minutes, rest = stamp.split(":")
    return Fraction(rest) + 60 * int(minutes) + 3600 * int(hours)


def test_words_as_captions(row: Rate) -> None:
    crit = counted_crit(row)
    cues = webvtt.from_string(only(words_vtt(crit).files).decode()).captions
    said = crit.measured.readings.sound.words  # type: ignore[union-attr]
    assert " ".join(cue.text for cue in cues).split() == [word.text for word in said]
    assert cues[0].voice == said[0].who
    assert float(seconds(cues[0].start)) == pytest.approx(said[0].start_s, abs=0.001)


def test_track_reading(row: Rate, tmp_path: Path) -> None:
    """The package textgrid reads it, which shares no code with praatio."""
    crit = counted_crit(row)
    path = tmp_path / "track.TextGrid"
    path.write_bytes(only(track_textgrid(crit).files))
    grid = textgrid.TextGrid.fromFile(str(path))
    (about,) = grid.getFirst(COUNT)
    assert about.mark == counting(crit).about()
    note = next(interval for interval in grid.getFirst("notes") if interval.mark)
    assert note.mark.startswith("1046 must Oona")
    assert crit.measured.readings.clock.frame_at(note.minTime + 1e-9) + FIRST == NOTED
    assert [i.mark for i in grid.getFirst("Oona - words") if i.mark][:3] == ["But", "you", "promised"]


def test_arrays_and_tables(row: Rate) -> None:
    """NumPy reads the arrays, polars the table; both say the same frames."""
    crit = counted_crit(row)
    arrays = np.load(io.BytesIO(only(readings_npz(crit).files)), allow_pickle=False)
    told = json.loads(str(arrays["about"]))
    assert (int(arrays["frame"][45]), told["first_frame"], Fraction(told["rate"])) == (NOTED, FIRST, row.rate)
    assert arrays["start_s"][45] == pytest.approx(45 / float(row.rate))
    movement = crit.measured.readings.picture.movement.values  # type: ignore[union-attr]
    np.testing.assert_array_equal(arrays["movement"], movement)
    table = polars.read_parquet(io.BytesIO(only(readings_parquet(crit).files)))
    at = table.filter(polars.col("frame") == NOTED)
    assert (at["timecode"][0], at["movement"][0]) == (row.code, movement[45])
    assert json.loads(polars.read_parquet_metadata(io.BytesIO(only(readings_parquet(crit).files)))["shotcrit"]) == told


def test_sheet_as_a_table(row: Rate) -> None:
    crit = counted_crit(row)
    rows = list(csv.DictReader(io.StringIO(only(sheet_csv(crit).files).decode())))
    assert len(rows) == 264
    assert (rows[45]["frame"], rows[45]["timecode"], rows[45]["notes"], rows[45]["still"]) == ("1046", row.code, "1", "0")
    assert [r["frame"] for r in rows if r["notes"] == "2"] == [str(frame) for frame in range(1060, 1067)]
    assert [r["frame"] for r in rows if r["still"] == "1"] == [str(frame) for frame in range(1258, 1265)], (
        "seven still frames are seven rows"
    )
    assert rows[96]["shot"] == "2"
    word = next(w for w in crit.measured.readings.sound.words)  # type: ignore[union-attr]
    first = next(r for r in rows if word.text in r["words"].split())
    assert float(first["start_s"]) <= word.start_s + 1e-6 < float(first["start_s"]) + 1 / float(row.rate) + 1e-6


@pytest.mark.parametrize("source", SOURCES, ids=lambda source: source.name)
def test_what_goes_out_comes_back_on_its_frames(source: object, row: Rate) -> None:
    """Whatever can be read of what can be written."""
    crit = counted_crit(row)
    name, data = next(
        (end, data)
        for form in FORMATS
        for end, data in form.make(crit).files.items()
        if end.endswith(source.endings)  # type: ignore[attr-defined]
    )
    back = source.read(data, name, counting(crit))  # type: ignore[attr-defined]
    for was, now in zip(crit.notes, back.notes, strict=True):
        assert (now.first, now.last, now.what, now.why, now.suggest, now.weight, now.who) == (
            was.first, was.last, was.what, was.why, was.suggest, was.weight, was.who,
        )  # fmt: skip
