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


def drawn(kind: str, box: list[float]) -> tuple[list[list[list[float]]], str | None, str | None]:
    """Runs of points, fill and line of a mark, read back from its SVG."""
    path = ElementTree.fromstring(mark(Stretch(0, 1, kind), Box(*box)))  # type: ignore[arg-type]
    runs = [[[float(n) for n in at.split()] for at in re.findall(r"-?[\d.]+ -?[\d.]+", run)] for run in path.attrib["d"].split("M")[1:]]
    fill = path.attrib["fill"]
    return runs, None if fill == "none" else fill, path.attrib.get("stroke")


def mismatches() -> Iterator[str]:
    """What the vectors say and the marks do not do."""
    checks = [(c, drawn(c["kind"], c["box"]), (c["runs"], c["fill"], c["line"])) for c in VECTORS["marks"]]
    for c in VECTORS["colours"]:
        look = STRETCHES[c["kind"]]
        checks.append((c, (ink(look.fill or ""), ink(look.line or ""), bool(look.dash)), (c["fill"], c["line"], c["dashed"])))
    for c in VECTORS["curves"]:
        curve = CURVES[c["id"]]
        checks.append((c, (ink(curve.colour), bool(curve.dash)), (c["colour"], c["dashed"])))
    return (c["says"] for c, found, wanted in checks if found != wanted)


def test_marks_look_as_the_vectors_say() -> None:
    assert list(mismatches()) == []
    assert {weight: ink(look.colour) for weight, look in WEIGHTS.items()} == VECTORS["weights"]


@pytest.mark.parametrize("change", [{"outline": ((0, 0), (0.8, 1), (-1, 1))}, {"fill": "blue"}, {"line": "red"}])
def test_a_mark_cannot_change_on_one_side_alone(change: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(STRETCHES, "inhale", replace(STRETCHES["inhale"], **change))  # type: ignore[arg-type]
    assert list(mismatches()) == ["breath in widens downward"]


@pytest.mark.parametrize("case", VECTORS["lanes"], ids=lambda case: str(case["says"]))
def test_brackets_stand_side_by_side(case: dict[str, Any]) -> None:
    placed = side_by_side(Bracket(i, first, last, 0, "must", "", "") for i, (first, last) in enumerate(case["ranges"]))
    assert [b.lane for b in sorted(placed, key=lambda b: b.number)] == case["lane"]


@pytest.mark.parametrize("case", VECTORS["runs"], ids=lambda case: str(case["says"]))
def test_curves_break_where_nothing_is_known(case: dict[str, Any]) -> None:
    values = np.array([math.nan if v is None else v for v in case["values"]], np.float32)
    assert runs_of(Curve("mouth.seen", values, first=case["first"]), 0, 99) == [[tuple(at) for at in run] for run in case["runs"]]
