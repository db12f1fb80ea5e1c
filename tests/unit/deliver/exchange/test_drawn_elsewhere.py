"""Drawings and annotations of other programs: SVG as lines of ours, media fragments as frames, and what is refused."""

from __future__ import annotations

import json
import math
import re

import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.make.counted_crits import RATES, counted_crit

from shotcrit.deliver.exchange.drawings_svg import drawings_svg, read_drawings_svg
from shotcrit.deliver.exchange.format import counting
from shotcrit.deliver.exchange.svg_path import arc, matrix, moved, polylines
from shotcrit.deliver.exchange.web_annotations import read_web_annotations, web_annotations
from shotcrit.errors import InputError

CRIT = counted_crit(RATES[1])
COUNT = counting(CRIT)
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 100">'
AT_25 = HEAD.replace("<svg", '<svg data-rate="25/1"')


def strokes(inside: str, head: str = HEAD) -> tuple[object, ...]:
    return read_drawings_svg(f"{head}{inside}</svg>".encode(), "a-frame1046.svg", COUNT).drawings[0].strokes


@pytest.mark.parametrize(
    "data",
    [
        "M10 10 L50 20 l10 -5 H90 v20 z", "M0 0C10 20 30 20 40 0S70-20 80 0", "M0,0Q20 40 40 0T80 0t20 5", "M10 10a5 5 0 1 0 10 0 5 5 0 1 0-10 0",
        "m1 1 2 2 3-3.5z m5 5 1 1", "M0 0 1e1 2.5e0",
    ],
)  # fmt: skip
def test_paths_run_where_svgelements_says(data: str) -> None:
    """Each of our points lies on the path as the other reader has it."""
    path = svgelements.Path(data)
    on = [point for piece in path if not isinstance(piece, svgelements.Move) for point in (piece.point(step / 64) for step in range(65))]
    for line in polylines(data, 10_000):
        for x, y in line:
            assert min(math.hypot(x - p.x, y - p.y) for p in on) < 0.6
    ends = polylines(data, 10_000)[-1][-1]
    assert (path.current_point.x, path.current_point.y) == pytest.approx(ends, abs=1e-9)


def test_the_flags_of_an_arc_may_stand_close() -> None:
    assert polylines("M10 50A30 20 30 0120 40", 99) == polylines("M10 50A30 20 30 0 1 20 40", 99)


@settings(max_examples=30)
@given(st.floats(1, 50), st.floats(1, 50), st.floats(-180, 180), st.booleans(), st.booleans(), st.floats(-20, 20), st.floats(1, 20))
def test_an_arc_lies_on_one_ellipse_through_both_ends(
    rx: float, ry: float, turn: float, large: bool, sweep: bool, x: float, y: float
) -> None:
    points = [(0.0, 0.0), *arc((0.0, 0.0), rx, ry, turn, large, sweep, (x, y))]
    theirs = svgelements.Path(f"M0 0A{rx} {ry} {turn} {int(large)} {int(sweep)} {x} {y}")
    middle, other = points[len(points) // 2], theirs[1].point(0.5)
    assert (other.x, other.y) == pytest.approx(middle, abs=1e-3 * max(rx, ry))


@pytest.mark.parametrize(
    "text",
    ["translate(3 4)", "scale(2)", "rotate(30)", "rotate(30 5 6)", "skewX(20)", "matrix(1 2 3 4 5 6)", "scale(2,3) rotate(9)"],
)
def test_transforms_are_those_of_svgelements(text: str) -> None:
    theirs = svgelements.Matrix(text).point_in_matrix_space(svgelements.Point(7, 11))
    assert moved(matrix(text), (7, 11)) == pytest.approx((theirs.x, theirs.y), abs=1e-9)


def test_shapes_become_strokes_of_the_nearest_pencil() -> None:
    line, ring, words = strokes(
        '<g transform="translate(20 10)" stroke="#d02020" style="stroke-width:2"><line x1="0" y1="0" x2="100" y2="40"/></g>'
        '<ellipse cx="100" cy="50" rx="20" ry="10" fill="none" stroke="blue" stroke-dasharray="2 2"/><text x="50" y="60" fill="white">too <tspan>low</tspan>'
        "</text>"
    )
    assert (line.colour, line.points[0][:2], line.points[-1][:2]) == ("red", (0.1, 0.1), (0.6, 0.5))  # type: ignore[attr-defined]
    assert (ring.colour, ring.dashed) == ("blue", True)  # type: ignore[attr-defined]
    assert (words.tool, words.text, words.colour, words.points[0][:2]) == ("text", "too low", "white", (0.25, 0.6))  # type: ignore[attr-defined]


def test_a_drawing_that_was_changed_elsewhere_comes_as_it_looks() -> None:
    ((name, data),) = drawings_svg(CRIT).files.items()
    assert read_drawings_svg(data, name, COUNT).drawings == CRIT.notes[1].drawings
    changed = re.sub(rb"scale\(2\.0+\)", b"scale(1)", data)
    assert changed != data
    (drawn,) = read_drawings_svg(changed, name, COUNT).drawings
    assert (drawn.first, drawn.last) == (60, 62)
    assert max(x for stroke in drawn.strokes for x, *_ in stroke.points) < 0.5, "half as large"


def test_what_is_no_line_is_counted() -> None:
    says = read_drawings_svg(
        f'{HEAD}<image href="file:///etc/passwd"/><use href="#a"/><path d="M0 0L9 9"/></svg>'.encode(), "frame_1046.svg", COUNT
    ).says
    assert says == ("2 things in frame_1046.svg are no lines, and were passed over.",)


@pytest.mark.parametrize(
    ("data", "name", "says"),
    [
        ("", "a-frame1046.svg", "no SVG that can be read"),
        ("<html/>", "a-frame1046.svg", "is no SVG"),
        (f"{HEAD}</svg>", "a-frame1046.svg", "holds no lines"),
        (f'{HEAD}<path d="M0 0L9 9"/></svg>', "a.svg", "does not say on which frame"),
        (f'{HEAD}<path d="M0 0L9 9"/></svg>', "a-frame9.svg", "lies on frame 9, and the take runs from 1001"),
        (f'{HEAD}<path d="M0 0L9"/></svg>', "a-frame1046.svg", "a path cannot be read"),
        (f'{HEAD}<path d="M0 0L9e99 1"/></svg>', "a-frame1046.svg", "far off the picture"),
        (f'{HEAD}<rect x="nan" width="9"/></svg>', "a-frame1046.svg", "a rect cannot be read"),
        (f'{HEAD}<g transform="spin(9)"><path d="M0 0L9 9"/></g></svg>', "a-frame1046.svg", "transform"),
        ('<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0L9 9"/></svg>', "a-frame1046.svg", "how large its picture is"),
        ('<!DOCTYPE s [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg">&a;</svg>', "a-frame1046.svg", "declares entities"),
        ('<!DOCTYPE s SYSTEM "x" [ ]><svg xmlns="http://www.w3.org/2000/svg"/>', "a-frame1046.svg", "declares entities"),
        (HEAD + "<g>" * 30_000 + "</g>" * 30_000 + "</svg>", "a-frame1046.svg", "more than 20,000 elements"),
        (HEAD + '<path d="M0 0L9 9"/>' * 2_001 + "</svg>", "a-frame1046.svg", "more than 2,000 lines"),
        (AT_25 + '<path d="M0 0L9 9"/></svg>', "a-frame1046.svg", "counts at 25 frames a second"),
    ],
)  # fmt: skip
def test_svg_that_cannot_be_read_is_refused_in_a_sentence(data: str, name: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read_drawings_svg(data.encode(), name, COUNT)


def annotation(target: object, body: object = "Look here.") -> bytes:
    return json.dumps({"@context": "http://www.w3.org/ns/anno.jsonld", "type": "Annotation", "body": body, "target": target}).encode()


@pytest.mark.parametrize(
    ("fragment", "frames"),
    [
        ("t=1.875,1.9166", (45, 45)), ("t=npt:1.875,1.92", (45, 46)), ("t=00:01.875,00:02", (45, 47)), ("t=0:00:01.875", (45, 45)), ("t=,0.5", (0, 11)),
        ("xywh=0,0,9,9&t=2,3", (48, 71)), ("t=10.99,11", (263, 263)),
    ],
)  # fmt: skip
def test_media_fragments_of_other_programs_are_read_as_frames(fragment: str, frames: tuple[int, int]) -> None:
    for target in (
        f"shot.mp4#{fragment}",
        {"source": "shot.mp4", "selector": {"type": "FragmentSelector", "value": fragment}},
        [f"http://x/#{fragment}"],
    ):
        (one,) = read_web_annotations(annotation(target), "a.jsonld", COUNT).notes
        assert (one.first, one.last, one.what, one.weight) == (*frames, "Look here.", "polish")


def test_an_annotation_brings_its_svg_and_words_by_their_purpose() -> None:
    svg = {"type": "SvgSelector", "value": f'{HEAD}<path d="M0 0L200 100" stroke="red" fill="none"/></svg>'}
    target = {"source": "a.mp4", "selector": {"type": "FragmentSelector", "value": "t=1.875,1.9166", "refinedBy": svg}}
    bodies = [
        {"type": "TextualBody", "value": "Hold."},
        {"value": "It pops.", "purpose": "describing"},
        {"value": "odd", "purpose": "tagging"},
    ]
    (one,) = read_web_annotations(b"[" + annotation(target, bodies) + b"]", "a.jsonld", COUNT).notes
    assert (one.what, one.why, one.weight, one.first) == ("Hold.", "It pops.", "polish", 45)
    (drawing,) = one.drawings
    assert (drawing.first, drawing.last, drawing.strokes[0].colour) == (45, 45, "red")


def test_a_moved_annotation_comes_back_where_it_is() -> None:
    page = json.loads(next(iter(web_annotations(CRIT).files.values())))
    page["items"][0]["target"][0]["selector"]["value"] = "t=npt:2,2.04"
    back = read_web_annotations(json.dumps(page).encode(), "a.jsonld", COUNT).notes
    assert (back[0].first, back[0].last, back[0].id) == (48, 48, "n1")
    assert back[1].drawings == CRIT.notes[1].drawings


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no JSON"), (b"[" * 100_000, "no JSON"), (b"{}", "no annotations"), (b"[1, 2]", "no annotations"),
        (annotation("shot.mp4"), "names no time"), (annotation("shot.mp4#t=99,100"), "the take lasts 11.000 s"), (annotation("a#t=3,2"), "the take lasts"),
        (annotation("a#t=1,2", []), "says nothing"),
    ],
)  # fmt: skip
def test_annotations_that_cannot_be_read_are_refused_in_a_sentence(data: bytes, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read_web_annotations(data, "a.jsonld", COUNT)
