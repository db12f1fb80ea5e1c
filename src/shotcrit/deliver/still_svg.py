"""A still with what a check saw drawn over it: as it is full, as it should be dashed, a slip as an arrow, a path with a tick a frame, a patch.

Each line lies on a darker (or lighter) twin, so that it reads on any picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, hypot, isfinite, pi, sin

from shotcrit.checks.finding import Stroke
from shotcrit.deliver.still_inset import SMALL, Ring, inset
from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.ink_look import LOOK
from shotcrit.sheet.ink_svg import WIDE
from shotcrit.sheet.palette import PENCILS, ink
from shotcrit.sheet.rows_svg import wrap_svg
from shotcrit.sheet.svg import el, path, title, words

_LINE, _UNDER, _HEAD, _LABEL, _TICK, _CLEAR = 2.6, 5.0, 13.0, 14.0, 4.5, 2.0
_COLOUR = {kind: PENCILS[look.pencil] for kind, look in LOOK.evidence.items()}
_DASHES = {kind: " ".join(f"{d:g}" for d in look.dash) for kind, look in LOOK.evidence.items() if look.dash}


def annotated(uri: str, shape: float, strokes: Sequence[Stroke], alt: str, *, alone: bool) -> str:
    """The still (data URI; shape = height over width) with `strokes` over it, as one SVG, WIDE units wide."""
    high = WIDE * shape
    picture = el("image", href=uri, x=0, y=0, width=WIDE, height=high, preserveAspectRatio="none")
    rings = _irises(strokes, high)
    drawn = [part for stroke in strokes for part in _stroke(stroke, high)]
    drawn += [part for stroke in strokes if not (rings and stroke.kind == "patch") for part in _label(stroke, high)]
    if rings:
        drawn += inset(uri, rings, [spot for stroke in strokes for spot in _points(stroke, high)], (WIDE, high))
    return wrap_svg([title(alt), picture, *drawn], WIDE, high, alone=alone)


def _irises(strokes: Sequence[Stroke], high: float) -> list[Ring]:
    """The small rings of a look that is drawn as it should be."""
    if not any(stroke.kind == "should" for stroke in strokes):
        return []
    rings = [Ring(spots, stroke.label) for stroke in strokes if stroke.kind == "patch" and len(spots := _points(stroke, high)) > 2]
    return [ring for ring in rings if 0 < ring.wide <= SMALL * WIDE]


def blank(alt: str, shape: float, *, alone: bool) -> str:
    """A grey field where there is no still to show."""
    field = el("rect", x=0, y=0, width=WIDE, height=WIDE * shape, fill=ink("room"))
    return wrap_svg([title(alt), field], WIDE, WIDE * shape, alone=alone)


def _points(stroke: Stroke, high: float) -> list[tuple[float, float]]:
    """Where the stroke runs in the drawing; points that are not known are left out."""
    return [(x * WIDE, y * high) for x, y in stroke.points if isfinite(x) and isfinite(y)]


def _stroke(stroke: Stroke, high: float) -> list[str]:
    points = _points(stroke, high)
    if len(points) < 2:
        return [el("circle", cx=x, cy=y, r=4, fill=_COLOUR[stroke.kind], stroke=ink("ink"), stroke_width=1.5) for x, y in points]
    shape = path(points, closed=stroke.kind == "patch")
    if LOOK.evidence[stroke.kind].arrow:
        shape += _arrow(points)
    if stroke.kind == "path":
        shape += _ticks(points)
    line = {"fill": "none", "stroke_linecap": "round", "stroke_linejoin": "round"}
    thin = 0.5 if stroke.kind == "path" or _is_small(stroke, points) else 1.0
    under = el(
        "path",
        d=shape,
        stroke=ink("ink"),
        stroke_width=thin * _UNDER,
        stroke_opacity=0.75,
        stroke_dasharray=_DASHES.get(stroke.kind),
        **line,
    )
    over = el("path", title(LOOK.evidence[stroke.kind].says), d=shape, stroke=_COLOUR[stroke.kind], stroke_width=thin * _LINE, **line)
    if stroke.kind in _DASHES:
        over = over.replace("<path ", f'<path stroke-dasharray="{_DASHES[stroke.kind]}" ', 1)
    return [under, over]


def _is_small(stroke: Stroke, points: list[tuple[float, float]]) -> bool:
    """A ring that a full line would fill."""
    return stroke.kind == "patch" and Ring(points, "").wide <= SMALL * WIDE


def _arrow(points: list[tuple[float, float]]) -> str:
    """The two barbs at the end of a line; shorter on a short line."""
    (x0, y0), (x, y) = points[-2], points[-1]
    along, size = atan2(y - y0, x - x0), min(_HEAD, hypot(x - x0, y - y0) * 0.5)
    return "".join(path([(x - size * cos(along + turn), y - size * sin(along + turn)), (x, y)]) for turn in (pi / 7, -pi / 7))


def _ticks(points: list[tuple[float, float]]) -> str:
    """A short line across the way at each frame, so that its spacing can be read; where it hardly goes on, as its last clear step lay."""
    found, across = "", (0.0, _TICK)
    for index, (x, y) in enumerate(points):
        (x0, y0), (x1, y1) = points[max(0, index - 1)], points[min(len(points) - 1, index + 1)]
        if (long := hypot(x1 - x0, y1 - y0)) > _CLEAR:
            across = ((y0 - y1) / long * _TICK, (x1 - x0) / long * _TICK)
        found += path([(x - across[0], y - across[1]), (x + across[0], y + across[1])])
    return found


def _label(stroke: Stroke, high: float) -> list[str]:
    """A few words at the end of the stroke, on a dark slip, kept inside the picture."""
    points = _points(stroke, high)
    if not stroke.label or not points:
        return []
    wide = text_width(stroke.label, "b", _LABEL) + 10
    end = (max(x for x, _ in points), min(y for _, y in points)) if stroke.kind == "patch" else points[-1]
    x = min(max(end[0] + 8, 2), max(2, WIDE - wide - 2))
    y = min(max(end[1] - 10, 2), max(2, high - _LABEL - 8))
    slip = el("rect", x=x, y=y, width=wide, height=_LABEL + 6, rx=2, fill=ink("ink"), fill_opacity=0.82)
    return [slip, words(x + 5, y + _LABEL + 0.5, stroke.label, "b card", _LABEL)]
