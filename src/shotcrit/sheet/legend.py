"""The legend under a sheet: only what the sheet shows."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.found import disc
from shotcrit.sheet.marks import CURVES, STRETCHES, WEIGHTS
from shotcrit.sheet.model import Sheet, Stretch, StretchKind
from shotcrit.sheet.palette import ink
from shotcrit.sheet.rows_svg import wrap_svg
from shotcrit.sheet.shapes import Box, dashes, mark
from shotcrit.sheet.svg import Value, el, path, words

_SIZE, _LINE, _SIGN, _APART = 7.0, 12.0, 15.0, 13.0


def legend_svg(sheet: Sheet, room: float) -> tuple[str, float]:
    """The legend in lines no wider than `room`, and its width."""
    drawn: list[str] = []
    x, line, widest = 0.0, 0, 0.0
    for sign, said in signs(sheet):
        wide = _SIGN + 3 + text_width(said, "c", _SIZE)
        if x and x + wide > room:
            x, line = 0.0, line + 1
        y = line * _LINE
        drawn.append(el("g", *sign, transform=f"translate({x:.2f} {y:.2f})"))
        drawn.append(words(x + _SIGN + 3, y + 8, said, "c soft", _SIZE))
        x += wide + _APART
        widest = max(widest, x - _APART)
    return wrap_svg(drawn, max(widest + 2, 10), (line + 1) * _LINE, alone=True), max(widest + 2, 10)


def signs(sheet: Sheet) -> Iterator[tuple[list[str], str]]:
    """Each sign in a box of 15 x 12 points, and what it means."""
    kinds = {stretch.kind for lane in sheet.lanes for stretch in lane.stretches}
    curves = {curve.id for lane in sheet.lanes for curve in lane.curves if np.isfinite(curve.values).any()}
    yield from ((sign(), said) for kind, sign, said in _STRETCHES if kind in kinds)
    if any(not word.sure for word in sheet.stretches("words")):
        yield [_stroke([(7, 1), (7, 11)], "ink", 1.3, "2 1.6")], "word not sure"
    yield from (([_curve(series)], said) for series, said in _CURVES.items() if series in curves)
    if sheet.found:
        yield from ((disc(7.5, 6, 5, i, weight), f"{sheet.heads[0]}, {weight}") for i, weight in enumerate(_weights(sheet), start=1))


def _weights(sheet: Sheet) -> list[str]:
    return [weight for weight in WEIGHTS if any(b.weight == weight for b in sheet.found)]


def _counted(kind: StretchKind) -> list[str]:
    return [_shape(kind), words(7.5, 8.2, "1", f"k {STRETCHES[kind].text}", 6, text_anchor="middle")]


def _shape(kind: StretchKind) -> str:
    return mark(Stretch(0, 1, kind), Box(2, 13, 2, 10))


def _blink() -> list[str]:
    return [_stroke([(2, 2), (13, 2)], "ink", 1), _stroke([(2, 6), (13, 6)], "ink", 3.2), _stroke([(2, 10), (13, 10)], "ink", 1)]


def _band(kind: StretchKind) -> list[str]:
    look = STRETCHES[kind]
    line: dict[str, Value] = {
        "fill": ink(look.fill or "card"),
        "stroke": ink(look.line or "ink"),
        "stroke_width": look.width,
        "stroke_dasharray": dashes(look.dash),
    }
    return [el("rect", x=4, y=1, width=6, height=10, **line)]


def _curve(series: str) -> str:
    look = CURVES[series]
    return _stroke([(0, 6), (15, 6)], look.colour, look.width, dashes(look.dash))


_STRETCHES: tuple[tuple[StretchKind, Callable[[], list[str]], str], ...] = (
    ("cut", lambda: [_stroke([(0, 6), (15, 6)], "ink", 1.6)], "cut: first frame of a new shot"),
    ("dead", lambda: _counted("dead"), "dead frame, counted"),
    ("dead_told", lambda: _counted("dead_told"), "dead frame, and found"),
    ("black", lambda: [_shape("black")], "black"),
    ("card", lambda: [_shape("card")], "card: a title, a slate"),
    ("fade_in", lambda: [_shape("fade_in")], "fade in"),
    ("fade_out", lambda: [_shape("fade_out")], "fade out"),
    ("dissolve", lambda: [_shape("dissolve")], "dissolve"),
    ("lean", lambda: [mark(Stretch(0, 0, "lean"), Box(6, 11, 2.5, 9.5))], "the voice leans here"),
    ("inhale", lambda: [_shape("inhale")], "breath in"),
    ("exhale", lambda: [_shape("exhale")], "breath out"),
    ("smack", lambda: [mark(Stretch(0, 1, "smack"), Box(2, 13, 4.5, 7.5))], "smack"),
    ("look_met", lambda: _band("look_met"), "eyes meet"),
    ("look_alone", lambda: _band("look_alone"), "look on its target"),
    ("look_missed", lambda: _band("look_missed"), "look that misses"),
    ("look_proposed", lambda: _band("look_proposed"), "look read from the eyes"),
    ("blink", _blink, "blink"),
)
_CURVES = {
    "picture.movement": "movement",
    "mouth.seen": "mouth as seen, open to the right",
    "mouth.wanted": "mouth as the sound wants it",
    "body.lift": "lift of the chest, up to the right",
}


def _stroke(points: list[tuple[float, float]], colour: str, width: float, dashes: str | None = None) -> str:
    return el("path", d=path(points), stroke=ink(colour), stroke_width=width, stroke_dasharray=dashes, fill="none")
