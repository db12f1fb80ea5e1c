"""Strokes of the pen as SVG over a still."""

from __future__ import annotations

from collections.abc import Sequence

from shotcrit.crit.records import Stroke
from shotcrit.sheet.ink import covered, dashed, ends_path, line_path, pressed_line, thickness
from shotcrit.sheet.ink_look import LOOK, InkLook, Pencil
from shotcrit.sheet.svg import Value, el, group, words

WIDE = 640.0
"""The still's width in the drawing's own units."""


def drawing_svg(strokes: Sequence[Stroke], shape: float, name: str) -> str:
    """The strokes over a picture WIDE units wide (shape = height over width). name: unique on the page, for what is rubbed out."""
    layer: list[str] = []
    for index, stroke in enumerate(strokes):
        layer = (
            [_rubbed(layer, stroke, 1 / shape, f"{name}-rub{index}")] if stroke.tool == "eraser" else [*layer, _drawn(stroke, 1 / shape)]
        )
    return group(layer, class_="drawing", transform=f"scale({WIDE * shape / LOOK.units:.6f})")


def _drawn(stroke: Stroke, aspect: float) -> str:
    pencil = LOOK.pencils[stroke.colour]
    if stroke.tool == "text":
        return _text(stroke, aspect, pencil)
    if stroke.tool == "pencil":
        return el("path", d=_pencilled(stroke, aspect), fill=pencil.colour, **_rim(pencil, LOOK.rim))
    return _line(stroke, line_path(stroke, aspect), ends_path(stroke, aspect), pencil)


def _pencilled(stroke: Stroke, aspect: float) -> str:
    line = pressed_line(stroke, aspect)
    return "".join(covered(piece) for piece in dashed(line, stroke.width)) if stroke.dashed else covered(line)


def _rim(pencil: Pencil, wide: float) -> dict[str, Value]:
    """A thin line round the stroke, and under it, so that it can be seen on any picture."""
    look: dict[str, Value] = {"stroke": pencil.rim, "stroke_opacity": LOOK.rim_opacity, "stroke_width": wide}
    return {**look, "stroke_linejoin": "round", "paint_order": "stroke"}


def _line(stroke: Stroke, shape: str, ends: str, pencil: Pencil) -> str:
    wide = thickness(stroke)
    dashes = f"{LOOK.on * wide:.2f} {LOOK.off * wide:.2f}" if stroke.dashed else None
    parts = [(shape, dashes), (ends, None)] if ends else [(shape, dashes)]
    common: dict[str, Value] = {"fill": "none", "stroke_linecap": "round", "stroke_linejoin": "round"}
    under: dict[str, Value] = {"stroke": pencil.rim, "stroke_opacity": LOOK.rim_opacity, "stroke_width": wide + LOOK.rim, **common}
    over: dict[str, Value] = {"stroke": pencil.colour, "stroke_width": wide, **common}
    return "".join(el("path", d=d, stroke_dasharray=dash, **look) for look in (under, over) for d, dash in parts)


def _text(stroke: Stroke, aspect: float, pencil: Pencil) -> str:
    x, y, *_ = stroke.points[0]
    size = text_size(stroke)
    look = {**_rim(pencil, size * LOOK.text_rim), "stroke_opacity": 1}
    return words(x * LOOK.units * aspect, y * LOOK.units, stroke.text, "k", size, fill=pencil.colour, **look)


def text_size(stroke: Stroke, look: InkLook = LOOK) -> float:
    """Height of drawn letters."""
    return stroke.width * look.units * look.text


def _rubbed(layer: list[str], stroke: Stroke, aspect: float, name: str) -> str:
    """Everything drawn so far, less what the rubber went over."""
    field = {"x": -LOOK.units * aspect, "y": -LOOK.units, "width": 3 * LOOK.units * aspect, "height": 3 * LOOK.units}
    mask = el(
        "mask",
        el("rect", fill="#fff", **field),
        el("path", d=_pencilled(stroke, aspect), fill="#000"),
        id=name,
        maskUnits="userSpaceOnUse",
        **field,
    )
    return el("g", mask, el("g", *layer, "", mask=f"url(#{name})"))
