"""The page's colours are the deliveries' colours."""

from __future__ import annotations

from pathlib import Path

from shotcrit.sheet.palette import palette_css

CSS = Path(__file__).parents[2] / "web" / "src" / "palette.css"


def test_the_rooms_palette_is_the_one_that_deliveries_use() -> None:
    assert CSS.read_text(encoding="utf-8").partition("\n")[2] == palette_css()
