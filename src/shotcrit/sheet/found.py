"""Findings beside their rows: a bracket, its number in a disc, and what it is."""

from __future__ import annotations

from dataclasses import replace

from shotcrit.sheet.block import Block, plate
from shotcrit.sheet.fonts import text_width, wrap
from shotcrit.sheet.layout import Column
from shotcrit.sheet.marks import WEIGHTS
from shotcrit.sheet.model import Bracket
from shotcrit.sheet.palette import ink
from shotcrit.sheet.svg import el, path, title, words

_LABEL = 6.9
_LANE = 6.0
_LEAD = 1.12
"""times its size that a label's lines stand apart"""
_CROWDED, _MOST_LINES = 6, 14
"""Lines of a label where others press, and where none does."""
COLOUR = {weight: look.colour for weight, look in WEIGHTS.items()}


def found(block: Block, column: Column) -> list[str]:
    """Brackets in lanes from the left; labels in the room that is left, pushed down where two would meet."""
    lanes = 1 + max((b.lane for b in block.sheet.found), default=0)
    step = min(_LANE, column.width * 0.4 / lanes)
    drawn: list[str] = []
    free = 0.0
    for bracket in block.sheet.found:
        if not block.touches(bracket.first, bracket.last + 1):
            continue
        own = [_bracket(block, column.x + 3 + step * bracket.lane, bracket)]
        if block.starts_here(bracket.first):
            after = min((b.first for b in block.sheet.found if bracket.first < b.first < block.stop), default=block.stop)
            label, free = _label(block, column, column.x + 6 + step * lanes, bracket, free, block.y(after))
            own += label
        drawn += [el("a", _reach(block, column, bracket), *own, href=f"#finding-{bracket.number}")] if block.links else own
    return drawn


def _reach(block: Block, column: Column, bracket: Bracket) -> str:
    """What a hand can hit: all of the finding's rows within the column, not only the thin line."""
    top, bottom = max(block.y(bracket.first), 0), min(block.y(bracket.last + 1), block.height)
    return el("rect", x=column.x, y=top, width=column.width, height=bottom - top, fill="none", pointer_events="all")


_STUB = 3
"""Rows at either end that tell of a finding about the whole shot: a line down all of it would only say that the shot is long."""


def _bracket(block: Block, x: float, bracket: Bracket) -> str:
    """What is about the whole shot stands at its ends alone."""
    if bracket.first > 0 or bracket.last < block.sheet.frames - 1 or block.sheet.frames <= 2 * _STUB:
        return _line(block, x, bracket)
    ends = (replace(bracket, last=_STUB - 1), replace(bracket, first=bracket.last - _STUB + 1))
    drawn = [_line(block, x, end, hooks) for end, hooks in zip(ends, ((True, False), (False, True)), strict=True)
             if block.touches(end.first, end.last + 1)]  # fmt: skip
    return "".join(drawn)


def _line(block: Block, x: float, bracket: Bracket, hooks: tuple[bool, bool] = (True, True)) -> str:
    """Open at an end that runs on into the next block, or that is said to have no hook."""
    top, bottom = block.y(bracket.first) + 0.8, block.y(bracket.last + 1) - 0.8
    points = [(x, max(top, 0)), (x, min(bottom, block.height))]
    if top >= 0 and hooks[0]:
        points.insert(0, (x + 4, top))
    if bottom <= block.height and hooks[1]:
        points.append((x + 4, bottom))
    thick = WEIGHTS[bracket.weight].width
    return el("path", title(bracket.says), d=path(points), stroke=ink(COLOUR[bracket.weight]), stroke_width=thick, fill="none")


def _label(block: Block, column: Column, left: float, bracket: Bracket, free: float, stop: float) -> tuple[list[str], float]:
    """The label from `free` on, cut off only where the next one begins at `stop`, and where the next may begin."""
    colour, size = COLOUR[bracket.weight], block.size(_LABEL)
    room = int((stop - max(block.y(bracket.first), free)) / (size * _LEAD))
    lines = wrap(bracket.label, "c", size, column.x + column.width - left - 12, min(max(room, _CROWDED), _MOST_LINES))
    needed = (len(lines) - 1) * size * _LEAD + size
    top = max(min(block.y(bracket.first) + 1, block.height - needed - 1), free, 0.5)
    drawn = disc(left + 4.6, top + size * 0.55, 4.6, bracket.number, bracket.weight)
    for i, line in enumerate(lines):
        drawn.append(plate(left + 11, top + size * (0.85 + _LEAD * i), line, "c", size))
        drawn.append(words(left + 11, top + size * (0.85 + _LEAD * i), line, f"c {colour}", size))
    return drawn, top + needed + 2.5


def disc(x: float, y: float, radius: float, number: int, weight: str) -> list[str]:
    """The number: light on a full disc for must and keep, dark in a ring for polish."""
    colour, full = ink(COLOUR[weight]), weight != "polish"
    size = radius * (1.45 if number < 10 else 1.15 if number < 100 else 0.9)
    ring = el("circle", cx=x, cy=y, r=radius - 0.4, fill=colour if full else ink("card"), stroke=colour, stroke_width=0.8)
    wide = text_width(str(number), "b", size)
    return [ring, words(x - wide / 2, y + size * 0.35, str(number), "b card" if full else "b ochre", size)]
