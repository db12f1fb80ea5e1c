"""Labels beside their rows: whole where there is room, and never over one another."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tests.make.measured import measured

from shotcrit.sheet.block import Block
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
