"""What `follow` writes: the document against its shipped schema, the table, the page."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import cv2
import jsonschema
import numpy as np
from tests.make.two_takes import a_map, as_it_was, changes, finding, moved_from, take, without

from shotcrit.clock import Numbering, Span
from shotcrit.crit.records import Note
from shotcrit.deliver.follow_json import follow_document, follow_schema, follow_text, write_follow_json
from shotcrit.deliver.follow_page import follow_page
from shotcrit.deliver.follow_table import follow_table_text
from shotcrit.deliver.map_svg import map_svg
from shotcrit.takes.verdicts import Asked, Followed, follow

STRICT = jsonschema.Draft202012Validator(follow_schema())


def _followed() -> Followed:
    """A hold of twelve frames put in, the look mended, and a fault that is new."""
    old = take()
    way = np.concatenate([np.arange(200), [199] * 12, np.arange(200, 264)])
    look = finding(old, "eyeline").span
    fault = replace(finding(old, "lipsync"), span=Span(150, 152), who="Bram", strokes=())
    new = without(old, "eyeline")
    readings = replace(new.readings, movie=replace(new.readings.movie, frames=276, name="lantern_040_take2.mov"))
    new = replace(new, readings=readings, findings=(*moved_from(new.findings, 200, 12), fault))
    return follow(
        old, new, a_map(way), changes(276, (look.start, look.last), (148, 153)), remarks=("The picture holds over 1201 to 1212 <b>.",)
    )


def test_the_document_keeps_to_its_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(follow_schema())
    STRICT.validate(json.loads(follow_text(_followed())))


def test_every_old_frame_has_its_new_one_in_the_takes_own_numbers() -> None:
    document = follow_document(_followed())
    assert document["map"][0] == [1001, 1001]
    assert document["map"][-1] == [1264, 1276]
    assert len(document["map"]) == len(document["confidence"]) == 264
    assert [v["verdict"] for v in document["verdicts"] if v["check"] == "eyeline"] == ["moved"]
    assert [(f["check"], f["who"], f["first"]) for f in document["new_findings"]] == [("lipsync", "Bram", 1151)]


def test_standard_output_is_given_the_document_alone() -> None:
    out = io.StringIO()
    write_follow_json(_followed(), out)
    assert json.loads(out.getvalue())["schema"] == "shotcrit.follow/1"


def test_the_table_says_what_moved_and_what_is_new() -> None:
    text = follow_table_text(_followed(), width=140)
    assert "1 moved" in text
    assert "1 new finding that the old take had not" in text
    assert "is no longer found (limit 5)" in text


def test_the_page_has_both_stills_and_escapes_what_is_said() -> None:
    still = cv2.imencode(".jpg", np.zeros((90, 160, 3), np.uint8))[1].tobytes()
    page = follow_page(_followed(), stills=(lambda _at, _wide: still, lambda _at, _wide: still))
    assert page.count("Old take, frame 1083") >= 1
    assert page.count("New take, frame 1083") >= 1
    assert "1201 to 1212 &lt;b&gt;" in page
    assert "http://" not in page.replace("http://www.w3.org", "")


def test_a_note_is_told_in_its_own_words() -> None:
    note = Note(id="n1", take="t1", first=10, last=20, weight="keep", what="The little breath before the line <3")
    followed = follow(take(), take(), as_it_was(), changes(), Asked((note,)))
    assert "Praised: The little breath before the line <3" in follow_table_text(followed, width=160)
    assert "The little breath before the line &lt;3" in follow_page(followed, stills=(None, None))
    told = next(v for v in follow_document(followed)["verdicts"] if v["note"])
    assert (told["asked"], told["verdict"]) == (note.what, "unchanged")


def test_the_frame_map_is_drawn_stretch_by_stretch() -> None:
    followed = _followed()
    drawn = map_svg(followed.map, followed.changes, Numbering(1001), Numbering(1))
    kinds = [stretch.kind for stretch in followed.map.stretches]
    assert kinds == ["alike", "held", "alike"]
    assert drawn.count("<rect") == 2 * len(kinds)
    assert 'class="map-held between"' in drawn
    assert "old take, 1001" in drawn
    assert ">276</text>" in drawn
    assert "how much of the picture changed" in drawn
    assert "map-changed" not in map_svg(followed.map, None, Numbering(1001), Numbering(1))
