"""The heard half of the sheet: wave, words, phones, breaths."""

from __future__ import annotations

import numpy as np

from shotcrit.sheet.block import Block, plate
from shotcrit.sheet.fonts import Face, fit, text_width
from shotcrit.sheet.layout import Column
from shotcrit.sheet.marks import CURVES, STRETCHES
from shotcrit.sheet.model import Curve, Stretch
from shotcrit.sheet.palette import ink
from shotcrit.sheet.shapes import Box, dashes, mark
from shotcrit.sheet.svg import Value, el, path, title, words

_WORD, _SPEAKER, _PHONE, _AIR = 8.4, 6.8, 7.2, 6.4


def wave(block: Block, column: Column) -> list[str]:
    """The sound as it swings, and a wedge where the voice leans."""
    swings = [_swing(block, column, curve) for curve in column.lane.curves if curve.values[block.first : block.stop].size]
    return swings + [_lean(block, column, lean) for lean in column.lane.stretches if block.starts_here(lean.start)]


def _swing(block: Block, column: Column, curve: Curve) -> str:
    rows, look = curve.values[block.first : block.stop], CURVES[curve.id]
    middle, half = column.x + column.width / 2, column.width / 2 - 3
    slices = np.nan_to_num(rows).reshape(-1, 2)
    at = (np.arange(len(slices)) + 0.5) * block.row / rows.shape[1]
    right = [(middle + half * float(v), float(y)) for v, y in zip(slices[:, 1], at, strict=True)]
    left = [(middle + half * float(v), float(y)) for v, y in zip(slices[:, 0], at, strict=True)]
    shape = path([*right, *reversed(left)], closed=True)
    return el("path", d=shape, fill=ink(look.colour), fill_opacity=0.55, stroke=ink(look.colour), stroke_width=look.width)


def _lean(block: Block, column: Column, lean: Stretch) -> str:
    size = block.size(STRETCHES[lean.kind].size)
    y, right = block.y(lean.start), column.x + column.width - 0.8
    said = Stretch(lean.start, lean.stop, lean.kind, f"the voice leans here, accent {lean.text}")
    return mark(said, Box(right - size, right, y - size / 1.6, y + size / 1.6))


def spoken(block: Block, column: Column) -> list[str]:
    """Each word beside its line, and who speaks where a line begins."""
    drawn: list[str] = []
    free = -1e9
    for word in column.lane.stretches:
        if not block.touches(word.start, word.stop):
            continue
        drawn.append(_extent(block, column.x + 4, word))
        if block.starts_here(word.start):
            base = max(block.y(max(word.start, 0)) + block.size(_WORD) * 0.95, free)
            drawn += _word(block, column, word, base, free)
            free = base + block.size(_WORD)
    return drawn


def _extent(block: Block, x: float, word: Stretch) -> str:
    top, bottom, look = max(block.y(word.start) + 0.6, 0), min(block.y(word.stop) - 0.6, block.height), STRETCHES[word.kind]
    broken = None if word.sure else dashes(look.dash)
    line: dict[str, Value] = {"stroke": ink(look.line or "ink"), "stroke_width": look.width, "stroke_dasharray": broken}
    return el("path", d=path([(x, top), (x, bottom)]), fill="none", **line)


def _word(block: Block, column: Column, word: Stretch, base: float, free: float) -> list[str]:
    left, room = column.x + 8, column.width - 10
    text, face, size = fit(word.text, "b", block.size(_WORD), room)
    drawn = [plate(left, base, text, face, size), words(left, base, text, f"{face} ink", size)]
    if word.leads and word.who:
        over = base - block.size(_WORD) * 1.05
        text, face, size = fit(word.who, "c", block.size(_SPEAKER), room)
        if over - size * 0.8 > max(free - block.size(_WORD), 0):
            drawn.append(words(left, over, text, f"{face} soft", size))
        else:
            drawn.append(words(column.x + column.width - 2, base + size, text, f"{face} soft", size, text_anchor="end"))
    return drawn


def phones(block: Block, column: Column) -> list[str]:
    """Each phone between its own rules; a stressed vowel is set bold."""
    drawn: list[str] = []
    free = -1e9
    middle, half = column.x + column.width / 2, column.width / 2 - 2
    for phone in column.lane.stretches:
        if not block.touches(phone.start, phone.stop):
            continue
        look = STRETCHES[phone.kind]
        for edge in (phone.start, phone.stop):
            if block.first <= edge <= block.stop:
                line = path([(middle - half, block.y(edge)), (middle + half, block.y(edge))])
                drawn.append(el("path", d=line, stroke=ink(look.line or "graphite"), stroke_width=look.width))
        if block.starts_here(phone.start):
            face: Face = "k" if phone.kind == "phone_stressed" else "c"
            text, face, size = fit(phone.text, face, block.size(_PHONE), column.width - 3)
            seen_stop = min(phone.stop, block.stop)
            base = max(block.y((max(phone.start, 0) + seen_stop) / 2) + size * 0.35, free)
            free = base + size * 0.85
            left = middle - text_width(text, face, size) / 2
            drawn += [plate(left, base, text, face, size), words(left, base, text, f"{face} ink", size)]
    return drawn


def air(block: Block, column: Column) -> list[str]:
    """Breath in widens, breath out narrows, a smack is two strokes, a shake a zigzag; each is named."""
    drawn: list[str] = []
    for event in column.lane.stretches:
        if not block.touches(event.start, event.stop):
            continue
        if STRETCHES[event.kind].shape == "zigzag":
            drawn.append(_zigzag(block, column, event))
            continue
        middle, half = column.x + column.width / 2 - 1, min(column.width / 2 - 3, 9)
        drawn.append(mark(event, Box(middle - half, middle + half, block.y(event.start), block.y(event.stop))))
        if block.starts_here(event.start):
            drawn.append(_air_name(block, column, event))
    return drawn


def _zigzag(block: Block, column: Column, event: Stretch) -> str:
    top, bottom, look = max(block.y(event.start), 0), min(block.y(event.stop), block.height), STRETCHES[event.kind]
    steps = max(2, round((bottom - top) / look.size))
    points = [(column.x + column.width - (2.6 if i % 2 else 0.6), top + (bottom - top) * i / steps) for i in range(steps + 1)]
    return el(
        "path", title(f"the voice {event.text}"), d=path(points), stroke=ink(look.line or "ink"), stroke_width=look.width, fill="none"
    )


def _air_name(block: Block, column: Column, event: Stretch) -> str:
    text, face, size = fit(event.text, "k", block.size(_AIR), column.width - 1)
    top, bottom = block.y(max(event.start, 0)), min(block.y(event.stop), block.height)
    part = 0.72 if event.kind == "inhale" else 0.28
    base = top - 1.5 if event.kind == "smack" else top + (bottom - top) * part + size * 0.35
    colour = STRETCHES[event.kind].text
    return words(column.x + column.width / 2 - 1, max(base, size), text, f"{face} {colour}", size, text_anchor="middle")
