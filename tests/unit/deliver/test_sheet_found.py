"""Labels beside their rows: whole where there is room, and never over one another."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tests.make.measured import measured

from shotcrit.clock import Span
from shotcrit.sheet.block import Block, handles
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.found import found
from shotcrit.sheet.layout import Column

LINE = re.compile(r'<text x="[\d.]+" y="([\d.]+)" class="c red"[^>]*>([^<]*)</text>')
SAID = "mouth, closure: 63 % of the widest opening of the line is still left open"


def lines(*firsts: int) -> list[tuple[float, str]]:
    sheet = build_sheet(measured())
    one = replace(sheet.found[0], label=SAID, weight="must", lane=0)
    marks = tuple(replace(one, number=i + 1, first=first, last=first + 1) for i, first in enumerate(firsts))
    block = Block(replace(sheet, found=marks), 0, 60, 10.4, (), {})
    return [(float(y), said) for y, said in LINE.findall("".join(found(block, Column("found", 0.0, 62.0))))]


def test_a_label_with_room_below_it_is_whole() -> None:
    assert " ".join(said for _, said in lines(5)) == SAID
    assert len(lines(5)) > 6


@pytest.mark.parametrize("apart", [1, 2, 4, 9])
def test_labels_that_press_are_cut_off_and_stand_one_below_the_other(apart: int) -> None:
    placed = lines(5, 5 + apart)
    assert [y for y, _ in placed] == sorted(y for y, _ in placed)
    assert " ".join(said for _, said in placed).endswith(SAID)


DOWN = re.compile(r'<path d="M([^"]*)" stroke="#[0-9a-f]{6}" stroke-width="[\d.]+" fill="none"')


def test_what_is_about_the_whole_shot_stands_at_its_ends_alone() -> None:
    sheet = build_sheet(measured())
    whole = replace(sheet.found[0], first=0, last=sheet.frames - 1, lane=0)
    column = Column("found", 0.0, 62.0)
    drawn = "".join(found(Block(replace(sheet, found=(whole,)), 0, sheet.frames, 10.0, (), {}), column))
    lines = [[float(n) for n in re.findall(r"[\d.]+", d)][1::2] for d in DOWN.findall(drawn)]
    assert len(lines) == 2
    (top, bottom) = sorted(lines)
    assert max(top) <= 3 * 10.0
    assert min(bottom) >= (sheet.frames - 3) * 10.0 - 1
    middle = Block(replace(sheet, found=(whole,)), 10, 20, 10.0, (), {})
    assert DOWN.findall("".join(found(middle, column))) == []


def test_handles_lie_under_thin_paper_as_in_the_room() -> None:
    sheet = replace(build_sheet(measured()), counts=Span(8, 50))
    columns = (Column("found", 0.0, 62.0),)
    rects = [re.findall(r'(\w+)="([\d.]+)"', drawn) for drawn in handles(Block(sheet, 0, 60, 10.0, columns, {})) if "rect" in drawn]
    assert [(float(dict(r)["y"]), float(dict(r)["height"])) for r in rects] == [(0, 80), (500, 100)]
    assert handles(Block(sheet, 10, 40, 10.0, columns, {})) == []
    assert handles(Block(replace(sheet, counts=None), 0, 60, 10.0, columns, {})) == []
