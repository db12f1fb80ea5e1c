"""The seen half of the sheet: picture, mouth, eyes, body."""

from __future__ import annotations

from math import isfinite

from shotcrit.sheet.block import Block
from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.layout import Column
from shotcrit.sheet.marks import CURVES, STRETCHES, Point
from shotcrit.sheet.model import Curve, Stretch
from shotcrit.sheet.palette import ink
from shotcrit.sheet.shapes import Box, curve_line, dashes, mark
from shotcrit.sheet.svg import el, path, title, words

_COUNT, _LOOK = 6.0, 6.8
_BAND, _TICK = 5.0, 9.0
"""Width of a look's band, and of a blink's bars, which stick out of it on both sides so that they are seen on a dark band and on none."""


def picture(block: Block, column: Column) -> list[str]:
    """How much each frame moves, as a bar; a dead frame as a box that counts up, filled where a finding names it; whatever else stands there."""
    moves = column.lane.curve("picture.movement")
    drawn = [] if moves is None else [_movement(block, column, moves)]
    for stretch in column.lane.stretches:
        if not block.touches(stretch.start, stretch.stop) or STRETCHES[stretch.kind].shape == "line":
            continue
        if stretch.count:
            drawn += [part for i in range(int(stretch.start), int(stretch.stop)) for part in _counted(block, column, stretch, i)]
        else:
            drawn.append(mark(stretch, Box(column.x + 2.5, column.x + column.width - 2.5, block.y(stretch.start), block.y(stretch.stop))))
    return drawn


def _counted(block: Block, column: Column, stretch: Stretch, i: int) -> list[str]:
    """One row of a stretch whose rows are counted."""
    if not block.first <= i < block.stop:
        return []
    y, size, look = block.y(i), block.size(_COUNT), STRETCHES[stretch.kind]
    box = mark(stretch, Box(column.x + 2.5, column.x + column.width - 2.5, y + 1.1, y + block.row - 1.1))
    number = str(stretch.count + i - int(stretch.start))
    middle = column.x + column.width / 2
    return [box, words(middle, y + block.row / 2 + size * 0.35, number, f"k {look.text}", size, text_anchor="middle")]


def _movement(block: Block, column: Column, moves: Curve) -> str:
    """A bar a row from the column's left edge."""
    left, room, look = column.x + 1.5, column.width - 4, CURVES[moves.id]
    data = []
    for i, value in enumerate(moves.values[block.first : block.stop]):
        if isfinite(float(value)) and value > 0:
            data.append(f"M{left:.1f} {(i + 0.5) * block.row:.1f}h{float(value) * room:.1f}")
    return el("path", d="".join(data), stroke=ink(look.colour), stroke_width=block.size(look.width), stroke_opacity=0.75) if data else ""


def mouth(block: Block, column: Column) -> list[str]:
    """Wanted as a wash with a dashed edge, seen as a full line; from shut at the left to open at the right."""
    left = column.x + 3
    nought = el("path", d=path([(left, 0), (left, block.height)]), stroke=ink("rule-strong"), stroke_width=0.5)
    return [nought, *body(block, column)]


def body(block: Block, column: Column) -> list[str]:
    """A lane's curves, each as its series looks."""
    return [part for curve in column.lane.curves for part in _curve(block, column, curve)]


def _curve(block: Block, column: Column, curve: Curve) -> list[str]:
    left, room, wash = column.x + 3, column.width - 6, CURVES[curve.id].wash
    drawn: list[str] = []
    for known in runs_of(curve, block.first - 1, block.stop):
        run = _points(block, known, left, room)
        if wash:
            area = [(left, run[0][1]), *run, (left, run[-1][1])]
            drawn.append(el("path", d=path(area, closed=True), fill=ink(wash), fill_opacity=0.8))
        drawn.append(curve_line(curve.id, run))
    return drawn


def runs_of(curve: Curve, first: int, last: int) -> list[list[tuple[int, float]]]:
    """Rows first..last of a curve with their values, parted where nothing is known."""
    found: list[list[tuple[int, float]]] = [[]]
    for row, value in enumerate(curve.values.tolist(), start=curve.first):
        if isfinite(value) and first <= row <= last:
            found[-1].append((row, value))
        elif found[-1]:
            found.append([])
    return [run for run in found if run]


def _points(block: Block, run: list[tuple[int, float]], left: float, room: float) -> list[Point]:
    """At the middle of each row; a lone value becomes a short stroke."""
    points = [(left + room * value, min(max(block.y(row + 0.5), 0), block.height)) for row, value in run]
    x, y = points[0]
    return points if len(points) > 1 else [(x, y - block.row / 3), (x, y + block.row / 3)]


def eyes(block: Block, column: Column) -> list[str]:
    """Looks as bands: dark where the other looks back, light for a look alone, hollow and broken where it misses; blinks as bars across them."""
    here = [s for s in column.lane.stretches if block.touches(s.start, s.stop)]
    looks = [part for s in here if STRETCHES[s.kind].shape == "band" for part in _look(block, column, s)]
    shut = {int(s.start) for s in here if s.kind == "lids_shut"}
    ticks = [_ticks(block, column, s, shut) for s in here if STRETCHES[s.kind].shape == "ticks"]
    return [*looks, *ticks]


def _look(block: Block, column: Column, look: Stretch) -> list[str]:
    style = STRETCHES[look.kind]
    top, bottom = max(block.y(look.start), 0) + 0.8, min(block.y(look.stop), block.height) - 0.8
    box = el(
        "rect",
        title(f"looks at {look.text}" if look.kind != "look_missed" else look.text),
        x=column.x + 4,
        y=top,
        width=_BAND,
        height=max(bottom - top, 0.1),
        fill=ink(style.fill or "card"),
        stroke=ink(style.line or "ink"),
        stroke_width=style.width,
        stroke_dasharray=dashes(style.dash),
    )
    size = block.size(_LOOK)
    if bottom - top < text_width(look.text, "k", size) + 6 or not _named_here(block, look):
        return [box]
    x = column.x + 5.5 + _TICK
    return [box, words(0, 0, look.text, f"k {style.text}", size, transform=f"translate({x:.2f} {top + 4:.2f}) rotate(90)")]


def _named_here(block: Block, look: Stretch) -> bool:
    """A look is named where most of it stands, so that it is named once."""
    size = block.stop - block.first
    here = min(look.stop, block.stop) - max(look.start, block.first)
    before = min(look.stop, block.first) - max(look.start, block.first - size)
    after = min(look.stop, block.stop + size) - max(look.start, block.stop)
    return here > before and here >= after


def _ticks(block: Block, column: Column, blink: Stretch, shut: set[int]) -> str:
    """A bar across the band on each row, thickest where the lids meet, with paper round it."""
    left, look = column.x + 2, STRETCHES[blink.kind]
    rows = [
        i for i in range(int(blink.start), int(blink.stop)) if block.first <= i < block.stop and (blink.kind != "blink" or i not in shut)
    ]
    bars = "".join(path([(left, block.y(i + 0.5)), (left + _TICK, block.y(i + 0.5))]) for i in rows)
    under = el("path", d=bars, stroke=ink("paper"), stroke_width=block.size(look.width + 1.4))
    said = title("lids shut" if blink.kind == "lids_shut" else "lids move")
    return under + el("path", said, d=bars, stroke=ink(look.line or "ink"), stroke_width=block.size(look.width))
