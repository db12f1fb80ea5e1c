"""How each thing on the sheet looks, read from marks.json, which the room's page reads too. A new kind of stretch needs a row there and a name in model.py."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any, Literal

Point = tuple[float, float]
Shape = Literal["line", "box", "outline", "strokes", "bar", "rules", "zigzag", "band", "ticks"]


@dataclass(frozen=True)
class ColumnLook:
    """key: what a column is called in code and settings; head: over it; help: one line on what it shows."""

    key: str
    head: str
    help: str


@dataclass(frozen=True)
class WeightLook:
    """How much a finding or note matters."""

    colour: str
    wash: str
    width: float


@dataclass(frozen=True)
class CurveLook:
    """dash: lengths of dash and gap, empty for a full line; wash: what lies between the curve and nought, None for nothing."""

    colour: str
    width: float
    dash: tuple[float, ...] = ()
    wash: str | None = None


@dataclass(frozen=True)
class StretchLook:
    """outline, strokes: -1..1 across, 0..1 from first to last; text: the colour of its words; size: its height, or a zigzag's step."""

    shape: Shape
    line: str | None = None
    fill: str | None = None
    text: str | None = None
    width: float = 0.0
    size: float = 0.0
    dash: tuple[float, ...] = ()
    outline: tuple[Point, ...] = ()
    strokes: tuple[tuple[Point, ...], ...] = ()


def _stretch(row: Mapping[str, Any]) -> StretchLook:
    lists = {
        "dash": tuple(row.get("dash", ())),
        "outline": tuple((x, y) for x, y in row.get("outline", ())),
        "strokes": tuple(tuple((x, y) for x, y in stroke) for stroke in row.get("strokes", ())),
    }
    return StretchLook(**{**row, **lists})


_DATA = json.loads(files("shotcrit.sheet").joinpath("marks.json").read_text(encoding="utf-8"))
COLUMNS: Mapping[str, ColumnLook] = {row["key"]: ColumnLook(**row) for row in _DATA["columns"]}
"""In their usual order."""
WEIGHTS: Mapping[str, WeightLook] = {key: WeightLook(**row) for key, row in _DATA["weights"].items()}
CURVES: Mapping[str, CurveLook] = {key: CurveLook(**{**row, "dash": tuple(row.get("dash", ()))}) for key, row in _DATA["curves"].items()}
STRETCHES: Mapping[str, StretchLook] = {key: _stretch(row) for key, row in _DATA["stretches"].items()}
