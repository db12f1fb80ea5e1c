"""The dim desk keeps the contrasts of the lit one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from shotcrit.sheet.palette import COLOURS, GRAPHIC_CONTRAST, TEXT_CONTRAST, Colour, contrast

CSS = (Path(__file__).parents[2] / "web" / "src" / "dim.css").read_text(encoding="utf-8")
DIM = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", CSS))
PAIRS = [(colour, ground) for colour in COLOURS if colour.role in ("text", "line") for ground in colour.on]


def test_every_colour_has_a_dim_one() -> None:
    assert set(DIM) == {colour.name for colour in COLOURS}


@pytest.mark.parametrize(("colour", "ground"), PAIRS, ids=[f"{c.name} on {g}" for c, g in PAIRS])
def test_words_and_lines_can_be_read_by_little_light(colour: Colour, ground: str) -> None:
    least = TEXT_CONTRAST if colour.role == "text" else GRAPHIC_CONTRAST
    assert contrast(DIM[colour.name], DIM[ground]) >= least


def test_no_paper_is_brighter_than_a_dusk_picture() -> None:
    assert all(contrast(DIM[ground], "#000000") < 2 for ground in ("paper", "card", "shade", "room"))
