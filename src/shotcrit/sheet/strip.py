"""A strip of the shot lying down: the wave, the words, and one curve, with the frames in question in shadow.

For a finding's card and for a note's sound; the sheet itself always stands.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite

import numpy as np

from shotcrit.checks.finding import Curve
from shotcrit.clock import Span
from shotcrit.sheet.fonts import fit
from shotcrit.sheet.model import Sheet, Stretch
from shotcrit.sheet.palette import ink
from shotcrit.sheet.rows_svg import wrap_svg
from shotcrit.sheet.svg import el, path, words

WIDE = 640.0
_WAVE, _WORDS, _CURVE, _RULER = 34.0, 17.0, 62.0, 15.0
_LEAST_ROUND, _MOST_ROUND = 10, 48
"""Frames shown before and after: at least ten, at most two seconds at 24 (guess: enough to hear where one is)."""


@dataclass(frozen=True)
class Strip:
    """Frames first .. stop-1 over WIDE units."""

    sheet: Sheet
    span: Span
    first: int
    stop: int

    def x(self, position: float) -> float:
        """Where a frame position stands, kept on the strip."""
        return min(max((position - self.first) / (self.stop - self.first), 0), 1) * WIDE


def around(sheet: Sheet, span: Span) -> Strip:
    """The strip round `span`, with half its length on each side within reason."""
    room = min(max(len(span) // 2, _LEAST_ROUND), _MOST_ROUND)
    return Strip(sheet, span, max(0, span.start - room), min(sheet.frames, span.stop + room))


def strip_svg(strip: Strip, curve: Curve | None, *, alone: bool) -> str:
    """The strip as SVG. Parts with nothing in them are left out."""
    parts: list[tuple[float, list[str]]] = []
    if strip.sheet.wave.size:
        parts.append((_WAVE, _wave(strip)))
    if any(True for _ in _shown_words(strip)):
        parts.append((_WORDS, _words(strip)))
    if curve is not None and curve.seen:
        parts.append((_CURVE, _curve(strip, curve)))
    high = sum(height for height, _ in parts)
    left, right = strip.x(strip.span.start), strip.x(strip.span.stop)
    layers = [el("rect", x=left, y=0, width=right - left, height=high, class_="shade")]
    y = 0.0
    for height, drawn in parts:
        layers.append(el("g", *drawn, transform=f"translate(0 {y:.1f})"))
        y += height
    return wrap_svg([*layers, el("g", *_ruler(strip), transform=f"translate(0 {high:.1f})")], WIDE, high + _RULER, alone=alone)


def _wave(strip: Strip) -> list[str]:
    rows = np.nan_to_num(strip.sheet.wave[strip.first : strip.stop])
    slices = rows.reshape(-1, 2)
    if not len(slices):
        return []
    step = WIDE / len(slices)
    middle, half = _WAVE / 2, _WAVE / 2 - 2
    over = [((i + 0.5) * step, middle - half * float(high)) for i, (_, high) in enumerate(slices)]
    under = [((i + 0.5) * step, middle - half * float(low)) for i, (low, _) in enumerate(slices)]
    return [el("path", d=path([*over, *reversed(under)], closed=True), fill=ink("graphite"), stroke=ink("graphite"), stroke_width=0.6)]


def _shown_words(strip: Strip) -> Iterator[Stretch]:
    return (w for w in strip.sheet.stretches("words") if w.start < strip.stop and w.stop > strip.first)


def _words(strip: Strip) -> list[str]:
    """Each under its line; a word may reach past its end where the next one leaves it room."""
    drawn = []
    shown = list(_shown_words(strip))
    for word, after in zip(shown, [*(strip.x(w.start) for w in shown[1:]), WIDE], strict=True):
        left, right = strip.x(word.start), strip.x(word.stop)
        drawn.append(el("path", d=path([(left + 0.8, 2), (right - 0.8, 2)]), stroke=ink("ink"), stroke_width=1.3))
        text, face, size = fit(word.text, "b", 10.5, min(right + 6, after - 2) - left)
        if right - left > 8 and text != "…":
            drawn.append(words(left + 0.8, 13, text, f"{face} ink", size))
    return drawn


def _curve(strip: Strip, curve: Curve) -> list[str]:
    """Seen full, wanted dashed, on one scale that holds nought; named with its unit and its greatest value."""
    known = [v for v in (*curve.seen, *curve.wanted, 0.0) if isfinite(v)]
    low, high = min(known), max(known)
    scale = (_CURVE - 20) / (high - low) if high > low else 0.0
    base = _CURVE - 4 + low * scale

    def runs(values: tuple[float, ...]) -> list[list[tuple[float, float]]]:
        found: list[list[tuple[float, float]]] = [[]]
        for i, v in enumerate(values, start=curve.first):
            if isfinite(v) and strip.first <= i < strip.stop:
                found[-1].append((strip.x(i + 0.5), base - v * scale))
            elif found[-1]:
                found.append([])
        return [run for run in found if run]

    drawn = [el("path", d=path([(0, base), (WIDE, base)]), stroke=ink("rule-strong"), stroke_width=0.7)]
    for run in runs(curve.wanted):
        drawn.append(el("path", d=path(run), stroke=ink("ochre"), stroke_width=1.4, stroke_dasharray="5 3", fill="none"))
    for run in runs(curve.seen):
        drawn.append(el("path", d=path(run), stroke=ink("ink"), stroke_width=1.6, fill="none", stroke_linejoin="round"))
    said = f"{curve.name}, {curve.unit}" + ("; dashed as wanted" if curve.wanted else "")
    return [*drawn, words(0, 11, said, "c soft", 10)]


def _ruler(strip: Strip) -> list[str]:
    """The first and last frame shown, and those of the range between."""
    shown = strip.sheet.numbering.shown
    drawn = [el("path", d=path([(0, 0.4), (WIDE, 0.4)]), stroke=ink("rule-strong"), stroke_width=0.8)]
    left, right = strip.x(strip.span.start + 0.5), strip.x(strip.span.last + 0.5)
    drawn.append(words(0, 11, str(shown(strip.first)), "c soft", 9.5))
    drawn.append(words(WIDE, 11, str(shown(strip.stop - 1)), "c soft", 9.5, text_anchor="end"))
    whole = strip.sheet.numbering.text(strip.span)
    if 45 < (left + right) / 2 < WIDE - 45:
        drawn.append(words((left + right) / 2, 11, whole, "k ink", 9.5, text_anchor="middle"))
    return drawn
