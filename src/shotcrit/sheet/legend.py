"""The legend under a sheet: only what the sheet shows."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.found import disc
from shotcrit.sheet.model import Sheet
from shotcrit.sheet.palette import ink
from shotcrit.sheet.rows_svg import wrap_svg
from shotcrit.sheet.svg import el, path, words

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
    if sheet.cuts:
        yield [_stroke([(0, 6), (15, 6)], "ink", 1.6)], "cut: first frame of a new shot"
    if sheet.dead is not None:
        yield [_stroke([(0, 6), (11, 6)], "graphite", 3.5)], "movement"
        if sheet.dead.any():
            box = el("rect", x=1, y=2, width=13, height=8, fill=ink("red"))
            yield [box, words(7.5, 8.2, "1", "k card", 6, text_anchor="middle")], "dead frame, counted"
    if sheet.accents:
        yield [el("path", d=path([(11, 2.5), (11, 9.5), (6.5, 6)], closed=True), class_="ink")], "the voice leans here"
    if any(not word.sure for word in sheet.words):
        yield [_stroke([(7, 1), (7, 11)], "ink", 1.3, "2 1.6")], "word not sure"
    if sheet.air:
        yield [_wedge([(7, 1), (13, 11), (1, 11)])], "breath in"
        yield [_wedge([(1, 1), (13, 1), (7, 11)])], "breath out"
    if sheet.mouths:
        if any(np.isfinite(lane.seen).any() for lane in sheet.mouths):
            yield [_stroke([(0, 6), (15, 6)], "ink", 1.1)], "mouth as seen, open to the right"
        yield [_stroke([(0, 6), (15, 6)], "ochre", 0.9, "2.4 1.6")], "mouth as the sound wants it"
    if sheet.eyes:
        yield [_look("green", "green-wash", None)], "look that meets"
        yield [_look("red", "card", "1.5 1.2")], "look that misses"
        yield (
            [_stroke([(2, 2), (13, 2)], "ink", 1), _stroke([(2, 6), (13, 6)], "ink", 3.2), _stroke([(2, 10), (13, 10)], "ink", 1)],
            "blink",
        )
    if sheet.bodies:
        yield [_stroke([(0, 6), (15, 6)], "blue", 1.1)], "lift of the chest, up to the right"
    if sheet.found:
        yield disc(7.5, 6, 5, 1, "must"), "found, must"
        yield disc(7.5, 6, 5, 2, "polish"), "found, polish"


def _stroke(points: list[tuple[float, float]], colour: str, width: float, dashes: str | None = None) -> str:
    return el("path", d=path(points), stroke=ink(colour), stroke_width=width, stroke_dasharray=dashes, fill="none")


def _wedge(points: list[tuple[float, float]]) -> str:
    return el("path", d=path(points, closed=True), fill=ink("blue-wash"), stroke=ink("blue"), stroke_width=0.7)


def _look(colour: str, wash: str, dashes: str | None) -> str:
    return el("rect", x=4, y=1, width=6, height=10, fill=ink(wash), stroke=ink(colour), stroke_width=0.8, stroke_dasharray=dashes)
