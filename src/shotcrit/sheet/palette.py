"""The one palette: warm paper, pencil colours, neutral grey around it. Each colour has one meaning, and none carries it alone.

A meaning always has a second carrier: a word, a line style (full = as it is, dashed = as it should be) or a shape.
Values were chosen by eye against the contrast rule of WCAG 2.2 (1.4.3: 4.5:1 for text, 1.4.11: 3:1 for graphics), which the tests hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shotcrit.geometry.colour import contrast as contrast_ratio
from shotcrit.sheet.ink_look import LOOK

TEXT_CONTRAST = 4.5
"""Least contrast of text against what it stands on (WCAG 2.2, success criterion 1.4.3)."""
GRAPHIC_CONTRAST = 3.0
"""Least contrast of lines that carry meaning (WCAG 2.2, success criterion 1.4.11)."""

Role = Literal["ground", "text", "line", "fill", "rule"]


@dataclass(frozen=True)
class Colour:
    """One colour. role: 'text' and 'line' are held to a contrast against every ground in `on`; 'fill' and 'rule' carry nothing alone."""

    name: str
    hex: str
    role: Role
    meaning: str
    on: tuple[str, ...] = ("paper",)


_SHEETS = ("paper", "card", "shade")
COLOURS: tuple[Colour, ...] = (
    Colour("paper", "#f5eee1", "ground", "the sheet"),
    Colour("card", "#fbf7ee", "ground", "a slip of paper on the sheet"),
    Colour("shade", "#ebe2d0", "ground", "paper in shadow: heads of columns, the range in question"),
    Colour("room", "#666666", "ground", "neutral grey round picture and paper"),
    Colour("ink", "#26221d", "text", "what is said and what was seen", (*_SHEETS,)),
    Colour("soft", "#5f574a", "text", "numbers and remarks", (*_SHEETS,)),
    Colour("chalk", "#f7f4ee", "text", "words on the grey", ("room",)),
    Colour("red", "#a8301f", "text", "must, and as it is where it is wrong", (*_SHEETS,)),
    Colour("blue", "#28588c", "text", "breath, air and body", (*_SHEETS,)),
    Colour("ochre", "#7b530c", "text", "mouth, and found by a check", (*_SHEETS,)),
    Colour("green", "#3f6232", "text", "keep, and looks that meet", (*_SHEETS,)),
    Colour("graphite", "#857b6b", "line", "sound and movement", ("paper", "card")),
    Colour("red-wash", "#e9beb1", "fill", "red, laid on thinly"),
    Colour("blue-wash", "#bccfe2", "fill", "blue, laid on thinly"),
    Colour("ochre-wash", "#ecd9b0", "fill", "ochre, laid on thinly"),
    Colour("green-wash", "#c6d6b8", "fill", "green, laid on thinly"),
    Colour("rule", "#e2d7c1", "rule", "one frame"),
    Colour("rule-strong", "#bfae8c", "rule", "half a second, and columns"),
)
PENCILS: dict[str, str] = {key: pencil.colour for key, pencil in LOOK.pencils.items()}
"""Pencils for drawing on pictures: the same hues, brighter, with a thin rim round each stroke."""
BY_NAME = {colour.name: colour for colour in COLOURS}


def ink(name: str) -> str:
    """The colour's hex value. Raises KeyError for a name that the palette does not have."""
    return BY_NAME[name].hex


def contrast(one: str, other: str) -> float:
    """Contrast ratio 1..21 of two '#rrggbb' colours."""
    return float(contrast_ratio(_channels(one), _channels(other)))


def _channels(colour: str) -> list[int]:
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


def palette_css() -> str:
    """The palette as CSS custom properties: --paper, --ink, --red ... The page and the room share it."""
    lines = [f"  --{c.name}: {c.hex}; /* {c.meaning} */" for c in COLOURS]
    return ":root {\n" + "\n".join(lines) + "\n}\n"
