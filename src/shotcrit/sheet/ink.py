"""Strokes of the pen as SVG: the pressed line is a filled outline, as thick as the pen was pressed."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, hypot, pi, sin

from shotcrit.crit.things import Stroke
from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.palette import PENCILS, ink
from shotcrit.sheet.svg import el, group, path, words

WIDE = 640.0
"""The still's width in the drawing's own units; strokes are this many units' lines whatever the picture's size."""
LIGHTEST = 0.35
"""Part of the full width at no pressure, so that a light touch is still seen (guess, tried with a tablet's range)."""
UNDER = 2.2
"""How much wider the dark twin under each stroke is, in the drawing's units."""
_DASH, _HEAD, _TEXT = "10 7", 14.0, 15.0

Point = tuple[float, float]


def drawing_svg(strokes: Sequence[Stroke], shape: float, name: str) -> str:
    """The strokes over a picture WIDE units wide (shape = height over width). name: unique on the page, for what is rubbed out."""
    high = WIDE * shape
    layer: list[str] = []
    for index, stroke in enumerate(strokes):
        if stroke.tool == "eraser":
            layer = [_rubbed(layer, stroke, high, f"{name}-rub{index}")]
        else:
            layer += _drawn(stroke, high)
    return group(layer, class_="drawing")


def outline(points: Sequence[tuple[float, float, float]], width: float) -> list[Point]:
    """A closed outline round x, y, pressure points: each side stands off by half the pressed width, square to the way there."""
    left: list[Point] = []
    right: list[Point] = []
    for i, (x, y, pressure) in enumerate(points):
        (x0, y0, _), (x1, y1, _) = points[max(i - 1, 0)], points[min(i + 1, len(points) - 1)]
        length = hypot(x1 - x0, y1 - y0) or 1.0
        half = width * (LIGHTEST + (1 - LIGHTEST) * pressure) / 2
        dx, dy = -(y1 - y0) / length * half, (x1 - x0) / length * half
        left.append((x + dx, y + dy))
        right.append((x - dx, y - dy))
    return [*left, *reversed(right)]


def _placed(stroke: Stroke, high: float) -> list[tuple[float, float, float]]:
    return [(x * WIDE, y * high, pressure) for x, y, pressure, _ in stroke.points]


def _drawn(stroke: Stroke, high: float) -> list[str]:
    points = _placed(stroke, high)
    width = max(stroke.width * high, 1.2)
    if stroke.tool == "text":
        return _text(stroke, points[0])
    if stroke.tool == "ellipse":
        return _line(_round(points), stroke, width)
    if stroke.tool in ("arrow", "sight") and len(points) > 1:
        return _line(path([(x, y) for x, y, _ in points]) + _barbs(points), stroke, width)
    if stroke.dashed and len(points) > 1:
        return _line(path([(x, y) for x, y, _ in points]), stroke, width)
    return _pressed(points, stroke, width)


def _pressed(points: list[tuple[float, float, float]], stroke: Stroke, width: float) -> list[str]:
    colour = PENCILS[stroke.colour]
    if len(points) == 1:
        x, y, _ = points[0]
        return [el("circle", cx=x, cy=y, r=width, fill=colour, stroke=_twin(stroke), stroke_width=1)]
    shape = path(outline(points, width), closed=True)
    joined = {"stroke_linejoin": "round", "d": shape}
    under = el("path", fill=_twin(stroke), stroke=_twin(stroke), stroke_width=UNDER, stroke_opacity=0.7, **joined)
    return [under, el("path", fill=colour, stroke=colour, stroke_width=0.6, **joined)]


def _line(shape: str, stroke: Stroke, width: float) -> list[str]:
    dashes = _DASH if stroke.dashed else None
    common = {"d": shape, "fill": "none", "stroke_linecap": "round", "stroke_linejoin": "round", "stroke_dasharray": dashes}
    under = el("path", stroke=_twin(stroke), stroke_width=width + UNDER, stroke_opacity=0.7, **common)
    return [under, el("path", stroke=PENCILS[stroke.colour], stroke_width=width, **common)]


def _twin(stroke: Stroke) -> str:
    """Dark under every pencil, light under black."""
    return ink("card") if stroke.colour == "black" else ink("ink")


def _round(points: list[tuple[float, float, float]]) -> str:
    """An ellipse that touches the box of the points, as four arcs would, in straight pieces too short to see."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    rx, ry = (max(xs) - min(xs)) / 2, (max(ys) - min(ys)) / 2
    x, y = min(xs) + rx, min(ys) + ry
    turns = 48
    return path([(x + rx * cos(2 * pi * i / turns), y + ry * sin(2 * pi * i / turns)) for i in range(turns)], closed=True)


def _barbs(points: list[tuple[float, float, float]]) -> str:
    """The head of an arrow at its last point, along the way from a little before."""
    x, y, _ = points[-1]
    back = next((p for p in reversed(points[:-1]) if hypot(x - p[0], y - p[1]) > _HEAD / 2), points[0])
    along = atan2(y - back[1], x - back[0])
    return "".join(path([(x - _HEAD * cos(along + turn), y - _HEAD * sin(along + turn)), (x, y)]) for turn in (pi / 7, -pi / 7))


def _text(stroke: Stroke, at: tuple[float, float, float]) -> list[str]:
    x, y, _ = at
    wide = text_width(stroke.text, "b", _TEXT) + 8
    slip = el("rect", x=x - 4, y=y - _TEXT, width=wide, height=_TEXT + 6, rx=2, fill=_twin(stroke), fill_opacity=0.8)
    return [slip, words(x, y + 1, stroke.text, "b", _TEXT, fill=PENCILS[stroke.colour])]


def _rubbed(layer: list[str], stroke: Stroke, high: float, name: str) -> str:
    """Everything drawn so far, less what the rubber went over."""
    points = _placed(stroke, high)
    width = max(stroke.width * high, 2)
    hole = path([(x, y) for x, y, _ in points]) if len(points) > 1 else path([points[0][:2], (points[0][0] + 0.1, points[0][1])])
    keep = el("rect", x=-WIDE, y=-high, width=3 * WIDE, height=3 * high, fill="#fff")
    rub = el("path", d=hole, stroke="#000", stroke_width=width, stroke_linecap="round", stroke_linejoin="round", fill="none")
    mask = el("mask", keep, rub, id=name, maskUnits="userSpaceOnUse", x=-WIDE, y=-high, width=3 * WIDE, height=3 * high)
    return el("g", mask, el("g", *layer, "", mask=f"url(#{name})"))
