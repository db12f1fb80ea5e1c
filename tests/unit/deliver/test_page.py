"""The page is whole, safe and asks nobody for anything."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.make.measured import Names, bare, measured, sound_only
from tests.unit.deliver.test_sheet import HOSTILE, still

from shotcrit.checks.measured import Measured
from shotcrit.deliver.page import measured_page, policy, write_page
from shotcrit.sheet.svg import clean, el, number, words

VOID = {"meta", "link", "br", "hr", "img", "input", "source"}
OUTSIDE = re.compile(r"^(?:[a-z][a-z0-9+.-]*:)?//|^(?:https?|ftp|file|javascript|vbscript):", re.I)


class Reader(HTMLParser):
    """Keeps tags, ids, texts and whatever an attribute could fetch; raises when tags do not close."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.fetched: list[str] = []
        self.handlers: list[str] = []
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in ("src", "href", "srcset", "data", "action", "xlink:href", "poster"):
                self.fetched.append(value or "")
            if name.startswith("on") or name == "style":
                self.handlers.append(name)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize(
    "what",
    [measured(), measured(level=0), sound_only(), bare(), measured(names=HOSTILE)],
    ids=["marks", "movie", "sound", "bare", "hostile"],
)
def test_the_page_is_well_formed_and_fetches_nothing(what: Measured) -> None:
    reader = read(measured_page(what, still=still))
    assert [url[:60] for url in reader.fetched if OUTSIDE.match(url.strip())] == []
    assert all(url.startswith(("#", "data:image/jpeg;base64,")) for url in reader.fetched)
    assert reader.handlers == []
    assert reader.tags.count("script") == 1
    assert not {"iframe", "object", "embed", "form", "link", "base"} & set(reader.tags)
    assert len(reader.ids) == len(set(reader.ids))


def test_style_and_script_fetch_nothing_either() -> None:
    html = measured_page(measured(), still=still)
    style = html[html.index("<style>") : html.index("</style>")]
    assert "@import" not in style
    assert set(re.findall(r"url\(([a-z]+:)", style)) == {"data:"}
    script = html[html.rindex("<script>") :]
    assert not re.search(r"fetch\(|XMLHttpRequest|import\(|https?:|innerHTML|eval\(", script)


def test_every_link_within_the_page_leads_somewhere() -> None:
    html = measured_page(measured(), still=still)
    reader = read(html)
    own = {url[1:] for url in reader.fetched if url.startswith("#")}
    rows = {target for target in own if target.startswith("rows-")}
    assert own - rows <= set(reader.ids)
    assert len(rows) >= 10
    assert html.count('data-first="') >= len(rows)


def test_every_finding_word_and_frame_is_there() -> None:
    what = measured()
    text = " ".join(" ".join(read(measured_page(what, still=still)).texts).split())
    for finding in what.findings:
        assert finding.says in text
        assert finding.suggest in text
        assert finding.basis in text
    for frame in range(1001, 1265):
        assert f" {frame} " in text
    assert "needs lid marks on one frame where the eyes are shut" in text
    assert text.count("frame 1083") >= 1


def test_stills_are_asked_for_by_the_frame_of_the_evidence() -> None:
    asked: list[int] = []

    def watch(index: int, width: int) -> bytes:
        asked.append(index)
        return still(index, width)

    measured_page(measured(), still=watch)
    assert sorted(asked) == sorted([0, 96, 168, 39, 66, 82, 95, 260])


def test_it_works_without_stills() -> None:
    html = measured_page(measured(), still=None)
    assert "data:image/jpeg" not in html
    read(html)


def test_drawings_are_well_formed_xml_whatever_the_names() -> None:
    html = measured_page(measured(names=HOSTILE), still=still)
    drawings = re.findall(r"<svg .*?</svg>", html, flags=re.S)
    assert len(drawings) > 8
    for drawing in drawings:
        ElementTree.fromstring(drawing)


def test_hostile_names_stay_text() -> None:
    html = measured_page(measured(names=HOSTILE), still=still)
    assert "<script>" in " ".join(read(html).texts)
    assert html.count("<script>") == 1


@settings(max_examples=15)
@given(st.text(alphabet="<>&\"'/=;{}%# ]-!ab\u0000\u202e\u2028灯", min_size=1, max_size=24))
def test_no_name_opens_a_tag(name: str) -> None:
    plain = read(measured_page(measured(frames=96), still=None))
    hostile = read(measured_page(measured(names=Names(shot=name, one="a" + name, other="b" + name, says=name), frames=96), still=None))
    assert hostile.tags.count("script") == 1
    assert set(hostile.tags) == set(plain.tags)
    assert hostile.handlers == []


@given(st.text(max_size=50))
def test_any_text_makes_sound_xml(text: str) -> None:
    drawn = el("svg", words(0, 0, text, "r", 8), title=text)
    element = ElementTree.fromstring(drawn)
    assert element[0].text == (clean(text) or None)


@given(st.floats(-1e6, 1e6))
def test_numbers_keep_two_decimals(value: float) -> None:
    assert float(number(value)) == pytest.approx(value, abs=0.0051)
    assert "e" not in number(value)


def test_the_policy_lets_nothing_in() -> None:
    rule = policy("a", "b")
    assert rule.startswith("default-src 'none'")
    assert "unsafe" not in rule
    assert "sha256-ypeBEsobvcr6wjGzmiPcTaeG7/gUfE5yuYB3ha/uSLs=" in rule  # sha256 of 'a', by openssl
    assert "http" not in rule


def test_it_is_written_whole(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    write_page(measured(), path, still=still)
    assert path.read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]
