"""A crit as page and PDF, and the answers that come back."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.make.crits import arc_stroke, crit, sight_strokes
from tests.unit.deliver.test_page import OUTSIDE, read
from tests.unit.deliver.test_sheet import HOSTILE, still, text_of

from shotcrit.crit.records import Stroke
from shotcrit.deliver.crit_input import MOST_ON_COVER, cover_stills, crit_sheet, headline
from shotcrit.deliver.crit_page import crit_page, embedded, read_answers
from shotcrit.deliver.crit_pdf import along, crit_pdf
from shotcrit.errors import InputError
from shotcrit.sheet.ink_svg import drawing_svg
from shotcrit.sheet.plain import FLASHING


def test_the_page_says_all_of_the_crit_in_order() -> None:
    sent = crit(still)
    text = " ".join(" ".join(read(crit_page(sent)).texts).split())
    for said in (sent.overall, sent.praise, sent.reviewer, "take 3, for Ada", "begin here"):
        assert said in text
    places = [text.rindex(note.what) for note in sent.notes]
    assert places == sorted(places)
    assert all(note.why in text and note.suggest in text for note in sent.notes)


@pytest.mark.parametrize("names", [None, HOSTILE], ids=["plain", "hostile"])
def test_the_page_is_well_formed_and_fetches_nothing(names: object) -> None:
    html = crit_page(crit(still, names=names))  # type: ignore[arg-type]
    reader = read(html)
    assert [url[:60] for url in reader.fetched if OUTSIDE.match(url.strip())] == []
    assert reader.handlers == []
    assert len(reader.ids) == len(set(reader.ids))
    assert reader.tags.count("script") == 1 + 2 + 1, "the page's own, two reels, the ids asked for"
    for drawing in re.findall(r"<svg .*?</svg>", html, flags=re.S):
        ElementTree.fromstring(drawing)


def test_a_page_with_flashing_pictures_says_so_before_all_else() -> None:
    """Whoever opens it did not ask for them; and the finding's own words, which nobody took, are not in it."""
    plain_one = crit(still)
    flash = replace(plain_one.measured.findings[0], check="flash", says="The lantern flickers seven times a second.")
    flashing = crit_page(replace(plain_one, measured=replace(plain_one.measured, findings=(flash,))))
    caution = '<p class="caution" role="alert">'
    assert caution not in crit_page(plain_one)
    assert caution + FLASHING in flashing
    assert flashing.index(caution) < flashing.index("<img")
    assert flash.says not in flashing


def test_only_what_is_asked_for_can_be_ticked() -> None:
    html = crit_page(crit(still))
    assert html.count('class="done"') == 3
    asked = json.loads(re.search(r'class="asked">(.*?)</script>', html, re.S).group(1))  # type: ignore[union-attr]
    assert asked == {"crit": "c-lantern", "take": "t3", "notes": ["n1", "n2", "n3"], "name": "Lantern 040 take 3"}


def test_the_frames_to_play_have_their_true_times_and_sound() -> None:
    html = crit_page(crit(still))
    reel = json.loads(re.search(r'class="reel">(.*?)</script>', html, re.S).group(1))  # type: ignore[union-attr]
    assert (reel["first"], reel["shown"], len(reel["pictures"])) == (74, 1075, 18)
    assert reel["edges"] == [pytest.approx(i / 24, abs=1e-6) for i in range(19)]
    assert all(uri.startswith("data:image/jpeg;base64,") for uri in reel["pictures"])
    assert reel["sound"].startswith("UklGR"), "RIFF in base64"


@given(st.text(max_size=40))
def test_embedded_data_cannot_end_its_element(text: str) -> None:
    safe = str(embedded({"name": "</script><!--" + text}))
    assert "<" not in safe
    assert json.loads(safe)["name"] == "</script><!--" + text


def test_the_sheet_shows_the_notes_beside_their_rows() -> None:
    sheet = crit_sheet(crit(still))
    assert [(b.number, b.first, b.last, b.weight) for b in sheet.found] == [
        (4, 33, 48, "keep"),
        (2, 60, 72, "must"),
        (1, 74, 91, "must"),
        (3, 257, 263, "polish"),
    ]
    assert sheet.heads == ("notes", "")


def test_a_long_note_is_cut_at_a_word() -> None:
    note = replace(crit(still).notes[0], what="word " * 40)
    assert headline(note).endswith("word…")
    assert len(headline(note)) <= 61


def test_the_pdf_says_all_of_it_once(tmp_path: Path) -> None:
    sent = crit(still)
    text = " ".join(text_of(crit_pdf(sent), tmp_path).split())
    for said in ("Nearly there.", "The timing of the turn", "Begin here", "14.2° too high", "frame 1083", "Ben, 25 November"):
        assert text.count(said) == 1, said
    assert text.count("done") == 3


def test_any_crit_can_be_set() -> None:
    assert crit_pdf(crit(still, names=HOSTILE)).startswith(b"%PDF")
    empty = replace(crit(still), notes=(), overall="", praise="", one_thing=None, animator="", reviewer="", shot_stills={})
    assert crit_pdf(empty).startswith(b"%PDF")
    assert "No notes." in crit_page(empty)
    bare = replace(crit(still), notes=tuple(replace(n, still=None, drawings=(), snippet=None) for n in crit(still).notes))
    assert "data:image/jpeg" not in crit_page(replace(bare, shot_stills={}))


def test_a_few_frames_run_from_the_first_to_the_last() -> None:
    note = crit(still).notes[0]
    assert [index for index, _ in along(note)] == [74, 78, 82, 87, 91]
    assert along(replace(note, snippet=None)) == []


def test_notes_outside_the_take_are_refused() -> None:
    sent = crit(still)
    with pytest.raises(InputError, match="outside the take, which has 264 frames"):
        crit_page(replace(sent, notes=(replace(sent.notes[0], last=264),)))
    with pytest.raises(InputError, match="two notes have the id 'n1'"):
        crit_pdf(replace(sent, notes=(sent.notes[0], sent.notes[0])))


def test_every_tool_leaves_a_mark_and_the_rubber_takes_it() -> None:
    drawn = drawing_svg(sight_strokes(), 9 / 16, "d")
    root = ElementTree.fromstring(drawn)
    assert root.find(".//mask") is not None
    assert "his eyes are here" in "".join(root.itertext())
    assert "stroke-dasharray" in drawn
    assert drawing_svg((), 0.5, "e") == ""


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.floats(-4, 5), st.floats(-4, 5), st.floats(0, 1), st.floats(0, 1e5)), min_size=1, max_size=20),
    st.sampled_from(["pencil", "eraser", "arrow", "ellipse", "sight", "text"]),
    st.booleans(),
)
def test_any_stroke_makes_sound_xml(points: list[tuple[float, float, float, float]], tool: str, dashed: bool) -> None:
    stroke = Stroke.model_validate({"tool": tool, "points": points, "dashed": dashed, "text": "<&>"})
    drawn = drawing_svg((arc_stroke(), stroke), 9 / 16, "x")
    ElementTree.fromstring(drawn)
    assert not re.search(r"\b(nan|inf)\b", drawn)
    assert all(math.isfinite(v) for v in map(float, re.findall(r"-?\d+\.?\d*", drawn)[:50]))


def test_answers_come_back(tmp_path: Path) -> None:
    path = tmp_path / "answers.json"
    said = {"note": "n1", "done": True, "text": "dropped them by a third"}
    path.write_text(json.dumps({"schema": "shotcrit.answers/1", "crit": "c-lantern", "take": "t3", "answers": [said]}), encoding="utf-8")
    answers = read_answers(path)
    assert (answers.crit, answers.answers[0].note, answers.answers[0].done) == ("c-lantern", "n1", True)


@pytest.mark.parametrize("data", [b"", b"{}", b"[1]", b"\xff\xfe", b'{"schema": "shotcrit.answers/2"}', b"[" * 100_000])
def test_what_is_no_answers_file_is_refused_in_one_sentence(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "answers.json"
    path.write_bytes(data)
    with pytest.raises(InputError, match="give the file that the page saved"):
        read_answers(path)


def test_answers_that_are_not_there_are_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"gone\.json cannot be read"):
        read_answers(tmp_path / "gone.json")


def test_the_cover_shows_the_shot_and_the_sheet_stands_at_the_end(tmp_path: Path) -> None:
    sent = crit(still)
    text = text_of(crit_pdf(sent), tmp_path)
    pages = text.split("\f")
    assert "The sheet" not in pages[0]
    assert "The sheet" in pages[-2]  # pdftotext ends each page with a form feed
    assert "1264" in pages[-2]
    assert {"1001", "1097"} <= set(pages[0].split())  # the stills' frames
    page = crit_page(sent)
    assert page.count('alt="The shot, frame') == len(sent.shot_stills)


def test_of_many_shots_a_few_stand_on_the_cover_the_first_and_the_last_among_them() -> None:
    stills = {index: (f"data:{index}", 0.5) for index in range(0, 90, 10)}
    shown = [index for index, _ in cover_stills(stills)]
    assert len(shown) == MOST_ON_COVER
    assert (shown[0], shown[-1]) == (0, 80)
    assert shown == sorted(set(shown))
    assert cover_stills({}) == []
    assert [index for index, _ in cover_stills({7: ("data:", 0.5)})] == [7]
