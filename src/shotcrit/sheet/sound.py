"""The heard half of the sheet: wave, words, phones, breaths."""

from __future__ import annotations

import numpy as np

from shotcrit.sheet.block import Block, plate
from shotcrit.sheet.fonts import fit, text_width
from shotcrit.sheet.layout import Column
from shotcrit.sheet.model import Stretch
from shotcrit.sheet.palette import ink
from shotcrit.sheet.svg import el, path, title, words

_WORD, _SPEAKER, _PHONE, _AIR = 8.4, 6.8, 7.2, 6.4
LEANS_SHOWN = 3
"""Accents ranked up to this get the large wedge (guess: three lean points make a line)."""


def wave(block: Block, column: Column) -> list[str]:
    """The sound as it swings, and a wedge where the voice leans."""
    rows = block.sheet.wave[block.first : block.stop]
    if not rows.size:
        return []
    middle, half = column.x + column.width / 2, column.width / 2 - 3
    slices = rows.reshape(-1, 2)
    at = (np.arange(len(slices)) + 0.5) * block.row / rows.shape[1]
    right = [(middle + half * float(v), float(y)) for v, y in zip(np.nan_to_num(slices[:, 1]), at, strict=True)]
    left = [(middle + half * float(v), float(y)) for v, y in zip(np.nan_to_num(slices[:, 0]), at, strict=True)]
    shape = path([*right, *reversed(left)], closed=True)
    drawn = [el("path", d=shape, fill=ink("graphite"), fill_opacity=0.55, stroke=ink("graphite"), stroke_width=0.5)]
    return drawn + [_wedge(block, column, at_, rank) for at_, rank in block.sheet.accents if block.starts_here(at_)]


def _wedge(block: Block, column: Column, position: float, rank: int) -> str:
    size = block.size(4.2 if rank <= LEANS_SHOWN else 2.6)
    y, right = block.y(position), column.x + column.width - 0.8
    shape = path([(right, y - size / 1.6), (right, y + size / 1.6), (right - size, y)], closed=True)
    return el("path", title(f"the voice leans here, accent {rank}"), d=shape, class_="ink")


def spoken(block: Block, column: Column) -> list[str]:
    """Each word beside its line, and who speaks where a line begins."""
    drawn: list[str] = []
    free = -1e9
    for word in block.sheet.words:
        if not block.touches(word.start, word.stop):
            continue
        drawn.append(_extent(block, column.x + 4, word))
        if block.starts_here(word.start):
            base = max(block.y(max(word.start, 0)) + block.size(_WORD) * 0.95, free)
            drawn += _word(block, column, word, base, free)
            free = base + block.size(_WORD)
    return drawn


def _extent(block: Block, x: float, word: Stretch) -> str:
    top, bottom = max(block.y(word.start) + 0.6, 0), min(block.y(word.stop) - 0.6, block.height)
    dashes = None if word.sure else "2 1.6"
    return el("path", d=path([(x, top), (x, bottom)]), stroke=ink("ink"), stroke_width=1.3, stroke_dasharray=dashes, fill="none")


def _word(block: Block, column: Column, word: Stretch, base: float, free: float) -> list[str]:
    left, room = column.x + 8, column.width - 10
    shown = word.text if word.sure else word.text + " ?"
    text, face, size = fit(shown, "b", block.size(_WORD), room)
    drawn = [plate(left, base, text, face, size), words(left, base, text, f"{face} ink", size)]
    if word.kind == "first" and word.who:
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
    for phone in block.sheet.phones:
        if not block.touches(phone.start, phone.stop):
            continue
        for edge in (phone.start, phone.stop):
            if block.first <= edge <= block.stop:
                line = path([(middle - half, block.y(edge)), (middle + half, block.y(edge))])
                drawn.append(el("path", d=line, stroke=ink("graphite"), stroke_width=0.5))
        if block.starts_here(phone.start):
            text, face, size = fit(phone.text, "k" if phone.kind else "c", block.size(_PHONE), column.width - 3)
            seen_stop = min(phone.stop, block.stop)
            base = max(block.y((max(phone.start, 0) + seen_stop) / 2) + size * 0.35, free)
            free = base + size * 0.85
            left = middle - text_width(text, face, size) / 2
            drawn += [plate(left, base, text, face, size), words(left, base, text, f"{face} ink", size)]
    return drawn


def air(block: Block, column: Column) -> list[str]:
    """Breath in widens, breath out narrows, a smack is two strokes, a shake a zigzag; each is named."""
    drawn: list[str] = []
    for event in block.sheet.air:
        if block.touches(event.start, event.stop):
            drawn.append(_air_shape(block, column, event))
            if block.starts_here(event.start):
                drawn += _air_name(block, column, event)
    return drawn


def _air_shape(block: Block, column: Column, event: Stretch) -> str:
    middle, half = column.x + column.width / 2 - 1, min(column.width / 2 - 3, 9)
    top, bottom = max(block.y(event.start), 0), min(block.y(event.stop), block.height)
    said = title(event.text + (f", {event.who}" if event.who else ""))
    if event.kind == "smack":
        lines = path([(middle - half, top), (middle + half, top)]) + path([(middle - half, top + 2.4), (middle + half, top + 2.4)])
        return el("path", said, d=lines, stroke=ink("blue"), stroke_width=1.2)
    if event.kind == "tremor":
        steps = max(2, round((bottom - top) / 2.5))
        zigzag = [(column.x + column.width - (2.6 if i % 2 else 0.6), top + (bottom - top) * i / steps) for i in range(steps + 1)]
        return el("path", said, d=path(zigzag), stroke=ink("blue"), stroke_width=0.8, fill="none")
    thin, wide = (top, bottom) if event.kind == "inhale" else (bottom, top)
    shape = path([(middle, thin), (middle + half, wide), (middle - half, wide)], closed=True)
    return el("path", said, d=shape, fill=ink("blue-wash"), stroke=ink("blue"), stroke_width=0.7, stroke_linejoin="round")


def _air_name(block: Block, column: Column, event: Stretch) -> list[str]:
    if event.kind == "tremor":
        return []
    text, face, size = fit(event.text, "k", block.size(_AIR), column.width - 1)
    top, bottom = block.y(max(event.start, 0)), min(block.y(event.stop), block.height)
    part = 0.72 if event.kind == "inhale" else 0.28
    base = top - 1.5 if event.kind == "smack" else top + (bottom - top) * part + size * 0.35
    return [words(column.x + column.width / 2 - 1, max(base, size), text, f"{face} blue", size, text_anchor="middle")]
