"""The seen half of the sheet: picture, mouth, eyes, body."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from shotcrit.sheet.block import Block
from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.layout import Column
from shotcrit.sheet.model import Floats, Gaze
from shotcrit.sheet.palette import ink
from shotcrit.sheet.svg import el, path, title, words

_COUNT, _LOOK = 6.0, 6.8


def picture(block: Block, column: Column) -> list[str]:
    """How much each frame moves, as a bar; a dead frame as a box that counts up, filled where a finding names it."""
    drawn = [_movement(block, column)]
    dead = block.sheet.dead
    if dead is None:
        return []
    run = 0
    for back in range(block.first - 1, -1, -1):
        if not dead[back]:
            break
        run += 1
    for i in range(block.first, block.stop):
        run = run + 1 if dead[i] else 0
        if run:
            drawn += _dead(block, column, i, run, i in block.sheet.held)
    return drawn


def _dead(block: Block, column: Column, i: int, run: int, held: bool) -> list[str]:
    y, size = block.y(i), block.size(_COUNT)
    colour = ink("red") if held else ink("ochre-wash")
    box = el("rect", x=column.x + 2.5, y=y + 1.1, width=column.width - 5, height=block.row - 2.2, fill=colour)
    middle = column.x + column.width / 2
    return [box, words(middle, y + block.row / 2 + size * 0.35, str(run), "k card" if held else "k ink", size, text_anchor="middle")]


def _movement(block: Block, column: Column) -> str:
    """One stepped shape from the column's left edge."""
    left, room = column.x + 1.5, column.width - 4
    data = []
    for i, value in enumerate(block.sheet.movement[block.first : block.stop]):
        if isfinite(float(value)) and value > 0:
            data.append(f"M{left:.1f} {(i + 0.5) * block.row:.1f}h{float(value) * room:.1f}")
    return el("path", d="".join(data), stroke=ink("graphite"), stroke_width=block.row * 0.34, stroke_opacity=0.75) if data else ""


def mouth(block: Block, column: Column) -> list[str]:
    """Wanted as a wash with a dashed edge, seen as a full line; from shut at the left to open at the right."""
    lane = block.sheet.mouths[column.lane]
    left, room = column.x + 3, column.width - 6
    drawn = [el("path", d=path([(left, 0), (left, block.height)]), stroke=ink("rule-strong"), stroke_width=0.5)]
    for run in _runs(block, lane.wanted, left, room):
        area = [(left, run[0][1]), *run, (left, run[-1][1])]
        drawn.append(el("path", d=path(area, closed=True), fill=ink("ochre-wash"), fill_opacity=0.8))
        drawn.append(el("path", d=path(run), stroke=ink("ochre"), stroke_width=0.9, stroke_dasharray="2.4 1.6", fill="none"))
    return drawn + _line(block, lane.seen, left, room, "ink")


def body(block: Block, column: Column) -> list[str]:
    """The chest's lift: up is to the right."""
    lane = block.sheet.bodies[column.lane]
    left, room = column.x + 3, column.width - 6
    drawn = [
        el("path", d=path(run), stroke=ink("blue"), stroke_width=0.9, stroke_dasharray="2.4 1.6", fill="none")
        for run in _runs(block, lane.wanted, left, room)
    ]
    return drawn + _line(block, lane.seen, left, room, "blue")


def _line(block: Block, values: Floats, left: float, room: float, colour: str) -> list[str]:
    return [
        el("path", d=path(run), stroke=ink(colour), stroke_width=1.1, stroke_linejoin="round", fill="none")
        for run in _runs(block, values, left, room)
    ]


def _runs(block: Block, values: Floats, left: float, room: float) -> list[list[tuple[float, float]]]:
    """Points at the middle of each row, parted where a value is not known; a lone value becomes a short stroke."""
    found: list[list[tuple[float, float]]] = [[]]
    for i, value in enumerate(values[max(block.first - 1, 0) : block.stop + 1], start=max(block.first - 1, 0)):
        if isfinite(float(value)):
            found[-1].append((left + room * float(value), min(max(block.y(i + 0.5), 0), block.height)))
        elif found[-1]:
            found.append([])
    return [
        run if len(run) > 1 else [(run[0][0], run[0][1] - block.row / 3), (run[0][0], run[0][1] + block.row / 3)] for run in found if run
    ]


def eyes(block: Block, column: Column) -> list[str]:
    """Looks as bars: dark where the other looks back (eye contact), light for a look alone, hollow and broken where it misses; blinks as ticks."""
    lane = block.sheet.eyes[column.lane]
    drawn: list[str] = []
    for look in lane.looks:
        if block.touches(look.first, look.last + 1):
            drawn += _look(block, column, look, lane.blinks)
    for blink in lane.blinks:
        drawn += [_tick(block, column, at, at == blink[1]) for at in sorted(set(blink)) if block.first <= at < block.stop]
    return drawn


def _look(block: Block, column: Column, look: Gaze, blinks: Sequence[tuple[int, int, int]]) -> list[str]:
    top, bottom = max(block.y(look.first), 0) + 0.8, min(block.y(look.last + 1), block.height) - 0.8
    colour = "green" if look.meets else "red"
    wash = "card" if not look.meets or look.proposed else "green" if look.contact else "green-wash"
    verb = "at" if look.meets else "misses"
    said = f"{verb} {look.at}{'?' if look.proposed else ', met' if look.contact else ''}"
    dashes = "1.5 1.2" if look.proposed or not look.meets else None
    box = el(
        "rect",
        title(said),
        x=column.x + 2.5,
        y=top,
        width=5,
        height=bottom - top,
        fill=ink(wash),
        stroke=ink(colour),
        stroke_width=0.8,
        stroke_dasharray=dashes,
    )
    size = block.size(_LOOK)
    y = _clear(block, top + 5, bottom - 3, text_width(said, "k", size), blinks)
    if y is None or not _named_here(block, look):
        return [box]
    x = column.x + 9.5
    return [box, words(0, 0, said, f"k {colour}", size, transform=f"translate({x:.2f} {y:.2f}) rotate(90)")]


def _clear(block: Block, top: float, bottom: float, length: float, blinks: Sequence[tuple[int, int, int]]) -> float | None:
    """The highest place at which a name stands clear of the blinks' ticks; None where there is none."""
    at = top
    for first, _shut, last in sorted(blinks):
        if block.y(last + 1) > at and block.y(first) < at + length:
            at = block.y(last + 1) + 2
    return at if at + length <= bottom else None


def _named_here(block: Block, look: Gaze) -> bool:
    """A look is named where most of it stands, so that it is named once."""
    size = block.stop - block.first
    here = min(look.last + 1, block.stop) - max(look.first, block.first)
    before = min(look.last + 1, block.first) - max(look.first, block.first - size)
    after = min(look.last + 1, block.stop + size) - max(look.first, block.stop)
    return here > before and here >= after


def _tick(block: Block, column: Column, i: int, shut: bool) -> str:
    right, y = column.x + column.width - 1.5, block.y(i + 0.5)
    stroke = block.row * (0.34 if shut else 0.1)
    return el(
        "path", title("lids shut" if shut else "lids move"), d=path([(right - 6, y), (right, y)]), stroke=ink("ink"), stroke_width=stroke
    )
