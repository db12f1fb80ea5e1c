"""The sheet is painted alike here and in the room: both are held to tests/vectors/sheet.json, which was worked by hand."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from shotcrit.sheet.acting import runs_of
from shotcrit.sheet.lanes.beside import side_by_side
from shotcrit.sheet.marks import CURVES, STRETCHES, WEIGHTS
from shotcrit.sheet.model import Bracket, Curve, Stretch
from shotcrit.sheet.palette import ink
from shotcrit.sheet.shapes import Box, mark

VECTORS: dict[str, Any] = json.loads((Path(__file__).parents[2] / "vectors" / "sheet.json").read_text(encoding="utf-8"))


def drawn(kind: str, box: list[float]) -> tuple[list[list[list[float]]], str | None, str | None, float | None]:
    """Runs of points, fill, line and its width of a mark, read back from its SVG."""
    path = ElementTree.fromstring(mark(Stretch(0, 1, kind), Box(*box)))  # type: ignore[arg-type]
    runs = [[[float(n) for n in at.split()] for at in re.findall(r"-?[\d.]+ -?[\d.]+", run)] for run in path.attrib["d"].split("M")[1:]]
    fill, width = path.attrib["fill"], path.attrib.get("stroke-width")
    return runs, None if fill == "none" else fill, path.attrib.get("stroke"), None if width is None else float(width)


def mismatches() -> Iterator[str]:
    """What the vectors say and the marks do not do."""
    checks: list[tuple[dict[str, Any], Any, Any]] = [
        (c, drawn(c["kind"], c["box"]), (c["runs"], c["fill"], c["line"], c["width"])) for c in VECTORS["marks"]
    ]
    for c in VECTORS["looks"]:
        look = STRETCHES[c["kind"]]
        found = [look.fill and ink(look.fill), look.line and ink(look.line), look.width or None, list(look.dash)]
        checks.append((c, [value or None for value in found[:3]] + found[3:], [c["fill"], c["line"], c["width"], c["dash"]]))
    for c in VECTORS["curves"]:
        curve = CURVES[c["id"]]
        checks.append((c, (ink(curve.colour), curve.width, list(curve.dash)), (c["colour"], c["width"], c["dash"])))
    return (c["says"] for c, found, wanted in checks if found != wanted)


def test_marks_look_as_the_vectors_say() -> None:
    assert list(mismatches()) == []
    assert {weight: ink(look.colour) for weight, look in WEIGHTS.items()} == VECTORS["weights"]


def changed(value: Any) -> Any:
    """Another colour, a little more, a corner elsewhere."""
    if isinstance(value, tuple):
        return (changed(value[0]), *value[1:])
    return value + 0.3 if isinstance(value, float | int) else "red" if value == "blue" else "blue"


CHANGES = [
    (looks, name, field)
    for looks in (STRETCHES, CURVES)
    for name, look in looks.items()
    for field in ("fill", "line", "width", "dash", "outline", "strokes", "colour")
    if getattr(look, field, None)
]


@pytest.mark.parametrize(("looks", "name", "field"), CHANGES, ids=lambda given: given if isinstance(given, str) else "")
def test_nothing_can_change_on_one_side_alone(looks: dict[Any, Any], name: str, field: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """One constant changed here, and the vectors that hold the room's painter fail."""
    monkeypatch.setitem(looks, name, replace(looks[name], **{field: changed(getattr(looks[name], field))}))
    assert len(list(mismatches())) == 1


@pytest.mark.parametrize("case", VECTORS["lanes"], ids=lambda case: str(case["says"]))
def test_brackets_stand_side_by_side(case: dict[str, Any]) -> None:
    placed = side_by_side(Bracket(i, first, last, 0, "must", "", "") for i, (first, last) in enumerate(case["ranges"]))
    assert [b.lane for b in sorted(placed, key=lambda b: b.number)] == case["lane"]


@pytest.mark.parametrize("case", VECTORS["runs"], ids=lambda case: str(case["says"]))
def test_curves_break_where_nothing_is_known(case: dict[str, Any]) -> None:
    values = np.array([math.nan if v is None else v for v in case["values"]], np.float32)
    assert runs_of(Curve("mouth.seen", values, first=case["first"]), 0, 99) == [[tuple(at) for at in run] for run in case["runs"]]
