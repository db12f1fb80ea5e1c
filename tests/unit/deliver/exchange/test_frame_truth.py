"""A note on frame 1046 of a shot that starts at 1001 comes out right in every format, at every rate, and comes back where it can."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import opentimelineio as otio
import polars
import pycmx
import pytest
import svgelements
import textgrid
import webvtt
from PIL import Image
from pyld import jsonld
from tests.make.counted_crits import RATES, Rate, counted_crit
from tests.unit.deliver.test_sheet import still

from shotcrit.deliver.exchange.captions import chapters_vtt, notes_vtt, words_vtt
from shotcrit.deliver.exchange.clip_otio import clip_otio
from shotcrit.deliver.exchange.cut_list import cut_list
from shotcrit.deliver.exchange.drawings_svg import drawings_svg
from shotcrit.deliver.exchange.format import counting
from shotcrit.deliver.exchange.formats import FORMATS, SOURCES
from shotcrit.deliver.exchange.notes_csv import notes_csv
from shotcrit.deliver.exchange.notes_json import notes_json
from shotcrit.deliver.exchange.readings_npz import readings_npz
from shotcrit.deliver.exchange.readings_parquet import readings_parquet
from shotcrit.deliver.exchange.sheet_csv import sheet_csv
from shotcrit.deliver.exchange.stills_png import stills_png
from shotcrit.deliver.exchange.track_textgrid import COUNT, track_textgrid
from shotcrit.deliver.exchange.web_annotations import web_annotations

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


def test_annotations(row: Rate) -> None:
    """PyLD expands them to the W3C's own names; the fragment lies inside the note's frames and no other."""
    crit = counted_crit(row)
    (page,) = jsonld.expand(json.loads(only(web_annotations(crit).files)), {"documentLoader": w3c})
    one, two = page[f"{W3C_AS}items"][0]["@list"]
    (target,) = one[f"{OA}hasTarget"]
    assert target[f"{OA}hasSource"][0]["@id"].endswith("lantern_040_t3.mov")
    clock = crit.measured.readings.clock
    for annotation, shown in ((one, (NOTED, NOTED)), (two, (1060, 1066))):
        (selector,) = annotation[f"{OA}hasTarget"][0][f"{OA}hasSelector"]
        assert selector["@type"] == [f"{OA}FragmentSelector"]
        start, stop = selector[f"{RDF}value"][0]["@value"].removeprefix("t=npt:").split(",")
        span = clock.frames(Fraction(start), Fraction(stop))
        assert span is not None
        assert (span.start + FIRST, span.last + FIRST) == shown
        assert clock.frame_at(Fraction(start)) + FIRST == shown[0]
    told = page["urn:shotcrit:notes#count"][0]["@value"]
    assert (told["first_frame"], Fraction(told["rate"])) == (FIRST, row.rate)
    assert one["urn:shotcrit:notes#note"][0]["@value"]["first_timecode"] == row.code
    drawn = two[f"{OA}hasTarget"][1][f"{OA}hasSelector"][0]["http://www.w3.org/ns/oa#refinedBy"][0]
    assert drawn["@type"] == [f"{OA}SvgSelector"]


OA, RDF, W3C_AS = "http://www.w3.org/ns/oa#", "http://www.w3.org/1999/02/22-rdf-syntax-ns#", "https://www.w3.org/ns/activitystreams#"


def w3c(url: str, _options: object) -> dict[str, object]:
    """The terms of the W3C's context that we use (Web Annotation Vocabulary, 2017, appendix A; from memory), since tests have no network."""
    assert url == "http://www.w3.org/ns/anno.jsonld"
    of_oa = {"body": "hasBody", "source": "hasSource", "selector": "hasSelector", "refinedBy": "refinedBy", "target": "hasTarget"}
    linked = {"motivation": ("motivatedBy", "@vocab"), "purpose": ("hasPurpose", "@vocab")}
    classes = ("Annotation", "TextualBody", "FragmentSelector", "SvgSelector")
    context = {
        "id": "@id", "type": "@type", "value": f"{RDF}value", "conformsTo": {"@id": "http://purl.org/dc/terms/conformsTo", "@type": "@id"},
        "format": "http://purl.org/dc/elements/1.1/format", "AnnotationPage": f"{W3C_AS}OrderedCollectionPage", "Person": "http://xmlns.com/foaf/0.1/Person",
        "creator": {"@id": "http://purl.org/dc/terms/creator", "@type": "@id"}, "name": "http://xmlns.com/foaf/0.1/name",
        "items": {"@id": f"{W3C_AS}items", "@type": "@id", "@container": "@list"},
        **{name: {"@id": OA + term, "@type": "@id"} for name, term in of_oa.items()},
        **{name: {"@id": OA + term, "@type": kind} for name, (term, kind) in linked.items()},
        **{name: OA + name for name in classes},
        **{name: OA + name for name in ("assessing", "commenting", "describing", "editing", "tagging", "identifying")},
    }  # fmt: skip
    return {"contextUrl": None, "documentUrl": url, "document": {"@context": context}}


def test_drawings(row: Rate) -> None:
    """svgelements reads them: where the pen went, in pixels of the picture."""
    crit = counted_crit(row)
    ((name, data),) = drawings_svg(crit).files.items()
    assert name == "note2-frame1061-1063.svg"
    svg = svgelements.SVG.parse(io.BytesIO(data))
    assert (svg.values["data-first"], svg.values["data-last"], svg.values["data-first-frame"]) == ("1061", "1063", "1001")
    assert svg.values["data-timecode"] == counting(crit).timecode(60)
    assert Fraction(svg.values["data-rate"]) == row.rate
    assert (svg.viewbox.width, svg.viewbox.height) == (1280, 720)
    arc = next(e for e in svg.elements() if isinstance(e, svgelements.Path) and e.fill.value is not None and e.fill.blue > e.fill.red + 40)
    left, top, right, bottom = arc.bbox()
    assert (left, right) == (pytest.approx(0.3 * 1280, abs=6), pytest.approx(0.5 * 1280, abs=6))
    assert (top, bottom) == (pytest.approx(0.43 * 720, abs=18), pytest.approx(0.55 * 720, abs=6))


def test_stills(row: Rate) -> None:
    """Pillow reads the picture and its text; the arc is on it where the pen went."""
    crit = counted_crit(row)
    notes = (replace(crit.notes[1], still=still(61, 960)),)
    ((name, data),) = stills_png(replace(crit, notes=notes, one_thing=None)).files.items()
    assert name == "note1-frame1062.png"
    picture = Image.open(io.BytesIO(data))
    picture.load()
    assert picture.size == (1280, 720)
    assert (picture.text["frame"], picture.text["timecode"]) == ("1062", counting(crit).timecode(61))  # type: ignore[attr-defined]
    assert "first frame 1001" in picture.text["Comment"]  # type: ignore[attr-defined]
    red, _, blue = picture.convert("RGB").getpixel((512, 310))  # type: ignore[misc]
    assert blue > red + 40, "the blue pencil"


@pytest.mark.parametrize("source", SOURCES, ids=lambda source: source.name)
def test_what_goes_out_comes_back_on_its_frames(source: object, row: Rate) -> None:
    """Whatever can be read of what can be written."""
    crit = counted_crit(row)
    name, data = next(
        (end, data)
        for form in FORMATS
        if not form.pictures
        for end, data in form.make(crit).files.items()
        if end.endswith(source.endings)  # type: ignore[attr-defined]
    )
    back = source.read(data, name, counting(crit))  # type: ignore[attr-defined]
    if source.name == "SVG":  # type: ignore[attr-defined]
        assert back.drawings == crit.notes[1].drawings
        return
    if source.name not in ("CSV", "OpenTimelineIO"):  # type: ignore[attr-defined]
        assert [now.drawings for now in back.notes] == [was.drawings for was in crit.notes]
    for was, now in zip(crit.notes, back.notes, strict=True):
        assert (now.first, now.last, now.what, now.why, now.suggest, now.weight, now.who) == (
            was.first, was.last, was.what, was.why, was.suggest, was.weight, was.who,
        )  # fmt: skip
