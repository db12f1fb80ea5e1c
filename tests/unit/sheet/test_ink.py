"""Ink is the same here and in the room: both are held to tests/vectors/ink.json, which was worked by hand."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import fields, replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from shotcrit.crit.records import Stroke
from shotcrit.sheet.ink import covered, dashed, ends_path, line_path, pressed_line
from shotcrit.sheet.ink_look import LOOK, InkLook
from shotcrit.sheet.ink_svg import drawing_svg, text_size
from shotcrit.sheet.palette import PENCILS

VECTORS: dict[str, Any] = json.loads((Path(__file__).parents[2] / "vectors" / "ink.json").read_text(encoding="utf-8"))
PAINT = {"pencils", "evidence", "rim", "rim_opacity", "text_rim"}
"""What no length depends on."""


def stroke(points: Sequence[Sequence[float]], **given: Any) -> Stroke:
    return Stroke.model_validate({"points": [[x, y, (*rest, 0.5)[0], 0] for x, y, *rest in points], **given})


def same(found: Any, wanted: Any) -> bool:
    """Numbers within a hundredth of a unit; lists part by part."""
    if isinstance(wanted, list):
        return len(found) == len(wanted) and all(map(same, found, wanted))
    return bool(found == wanted) if isinstance(wanted, str) else abs(found - wanted) <= 0.011


def tokens(path: str) -> list[float | str]:
    return [t if t.isalpha() else float(t) for t in re.findall(r"[A-Za-z]|-?\d*\.?\d+", path)]


def pressed(width: float, pressure: float, look: InkLook) -> float:
    """Thickness in the middle of a long level line, as a part of the picture's height."""
    points = [(x / 20, 0.5, pressure if x else abs(pressure - 0.1)) for x in range(20)]
    return 2 * pressed_line(stroke(points, width=width), 1, look)[-5][2] / 1000


def mismatches(look: InkLook) -> Iterator[str]:
    """What the vectors say and `look` does not make."""
    checks = [(c, pressed(c["width"], c["pressure"], look) * 1e4, c["covers"] * 1e4) for c in VECTORS["widths"]]
    for c in VECTORS["lines"]:
        line = pressed_line(stroke(c["points"], width=c["width"]), 1, look)
        checks.append((c, [len(line), *(list(line[min(int(i), len(line) - 1)]) for i in c["spots"])], [c["count"], *c["spots"].values()]))
    checks += [
        (c, [list(map(list, p)) for p in dashed(list(map(tuple, c["line"])), c["width"], look)], c["pieces"]) for c in VECTORS["dashes"]
    ]
    checks += [(c, tokens(covered(list(map(tuple, c["line"])))), tokens(c["path"])) for c in VECTORS["covered"]]
    for c in VECTORS["paths"]:
        drawn = stroke(c["points"], tool=c["tool"])
        checks.append((c, [tokens(p(drawn, 1, look)) for p in (line_path, ends_path)], [tokens(c["path"]), tokens(c["ends"])]))
    checks += [(c, text_size(stroke([[0, 0]], width=c["width"]), look), c["size"]) for c in VECTORS["text"]]
    return (c["says"] for c, found, wanted in checks if not same(found, wanted))


def test_ink_is_what_the_vectors_say() -> None:
    assert list(mismatches(LOOK)) == []
    assert VECTORS["pencils"] == PENCILS


@pytest.mark.parametrize("name", sorted({f.name for f in fields(InkLook)} - PAINT))
def test_no_constant_can_change_on_one_side_alone(name: str) -> None:
    assert list(mismatches(replace(LOOK, **{name: getattr(LOOK, name) * 1.2})))


def test_the_sent_line_is_as_thick_as_the_drawn_one() -> None:
    """A level line pressed by half, read back from the SVG: 1.2 % of the height, all round, with its rim under it."""
    drawn = ElementTree.fromstring(drawing_svg([stroke([(x / 20, 0.5, 0.5 if x else 0.49) for x in range(21)])], 9 / 16, "d"))
    line = next(drawn.iter("path"))
    ys = [float(y) for y in re.findall(r"[ML]-?[\d.]+ (-?[\d.]+)", line.attrib["d"])]
    assert max(ys) - min(ys) == pytest.approx(12, abs=0.15)
    assert drawn.attrib["transform"] == "scale(0.360000)", "640 wide is 360 high"
    assert (line.attrib["fill"], line.attrib["paint-order"], line.attrib["stroke-width"]) == (PENCILS["blue"], "stroke", "3")


def test_a_dashed_pencil_leaves_gaps() -> None:
    line = [(x / 20, 0.5, 0.4) for x in range(21)]
    whole, broken = (drawing_svg([stroke(line, dashed=d)], 1.0, "d").count("Z") for d in (False, True))
    assert 0.4 < broken / whole < 0.7, "36 of 66 are drawn"
