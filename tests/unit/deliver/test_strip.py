"""The strip under a still: words stand side by side and never run into each other."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from tests.make.measured import FRAMES, measured

from shotcrit.clock import Span
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.model import Stretch
from shotcrit.sheet.strip import around, strip_svg

WORD = re.compile(r'<text x="([-\d.]+)" y="13"[^>]*class="(\w) ink"[^>]*font-size="([\d.]+)"[^>]*>([^<]*)</text>')


def placed_words(length: float) -> list[tuple[float, float, str]]:
    """(left, right, text) of long words said without a pause, each `length` frames long."""
    made = build_sheet(measured())
    said = tuple(Stretch(i * length, (i + 1) * length, "word", "promised") for i in range(int(FRAMES / length)))
    lanes = tuple(replace(lane, stretches=said) if lane.column == "words" else lane for lane in made.lanes)
    drawing = strip_svg(around(replace(made, lanes=lanes), Span(40, 52)), None, alone=True)
    found = WORD.findall(drawing)
    return sorted((float(x), float(x) + text_width(text, face, float(size)), text) for x, face, size, text in found)  # type: ignore[arg-type]


@pytest.mark.parametrize("length", [1.0, 1.5, 2.0, 4.0])
def test_no_word_reaches_into_the_next(length: float) -> None:
    placed = placed_words(length)
    assert len(placed) > 5
    assert all(right < left for (_, right, _), (left, _, _) in pairwise(placed))


def test_a_word_without_room_is_its_line_alone() -> None:
    assert placed_words(0.5) == []
