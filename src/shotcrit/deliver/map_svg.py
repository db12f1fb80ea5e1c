"""The frame map as a drawing: the old take over the new one, what became of each stretch between them, and under them how much of the picture changed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.clock import Numbering, Span
from shotcrit.sheet.svg import clean
from shotcrit.takes.change import ChangeMap
from shotcrit.takes.frame_map import FrameMap, Stretch

WIDE = 900.0
"""Units across; the page shows them at two thirds of a px or so."""
LEFT, TOP, BAR, BETWEEN, CHANGED = 4.0, 24.0, 16.0, 46.0, 44.0
"""Units: beside the bars, above them, their height, the room between them, the height of all of the picture."""
FULL = 0.5
"""Part of the picture that fills the lane; changes are mostly small (guess)."""
SAYS = {
    "gone": "gone",
    "inserted": "put in",
    "held": "held",
    "slower": "slower",
    "faster": "faster",
}
ROOM = 7.5
"""Units that a letter takes; words that would not fit over their stretch are left to the sentences beside."""


def map_svg(lined_up: FrameMap, changes: ChangeMap | None, old: Numbering, new: Numbering) -> str:
    """SVG text that takes its looks from the page's style sheet (page.css)."""
    frames = max(len(lined_up.new_of), len(lined_up.old_of))
    scale = (WIDE - 2 * LEFT) / max(frames, 1)
    below = TOP + 2 * BAR + BETWEEN
    high = below + 24 + (CHANGED + 30 if changes is not None else 0)
    parts = [
        *(piece for stretch in lined_up.stretches for piece in _stretch(stretch, scale)),
        *_ends("old take", old, len(lined_up.new_of), scale, TOP - 7),
        *_ends("new take", new, len(lined_up.old_of), scale, below + 16),
    ]
    if changes is not None:
        parts += _changed(changes, scale, below + 28)
    return f'<svg class="frame-map" viewBox="0 0 {WIDE:g} {high:g}" role="img" aria-label="How the frames of both takes belong together">{"".join(parts)}</svg>'


def _x(frame: float, scale: float) -> float:
    return round(LEFT + frame * scale, 2)


def _stretch(stretch: Stretch, scale: float) -> Iterator[str]:
    """Its part of either bar, and the band between them."""
    upper, lower = TOP + BAR, TOP + BAR + BETWEEN
    if stretch.old:
        yield _box(stretch.old, scale, TOP, stretch.kind)
    if stretch.new:
        yield _box(stretch.new, scale, lower, stretch.kind)
    if stretch.old and stretch.new:
        a, b, c, d = (_x(f, scale) for f in (stretch.old.start, stretch.old.stop, stretch.new.stop, stretch.new.start))
        yield f'<path class="map-{stretch.kind} between" d="M{a} {upper}L{b} {upper}L{c} {lower}L{d} {lower}Z"/>'
    word, span = SAYS.get(stretch.kind, ""), stretch.new or stretch.old
    if word and span and len(span) * scale > len(word) * ROOM:
        y = lower - 5 if stretch.new else upper + 15
        yield f'<text x="{(_x(span.start, scale) + _x(span.stop, scale)) / 2:g}" y="{y:g}" text-anchor="middle">{word}</text>'


def _box(span: Span, scale: float, y: float, kind: str) -> str:
    return f'<rect class="map-{kind}" x="{_x(span.start, scale)}" y="{y:g}" width="{max(len(span) * scale, 1):.2f}" height="{BAR:g}"/>'


def _ends(name: str, numbering: Numbering, frames: int, scale: float, y: float) -> Iterator[str]:
    yield f'<text class="end" x="{LEFT}" y="{y:g}">{clean(name)}, {numbering.shown(0)}</text>'
    yield f'<text class="end" x="{_x(frames, scale)}" y="{y:g}" text-anchor="end">{numbering.shown(frames - 1)}</text>'


def _changed(changes: ChangeMap, scale: float, top: float) -> Iterator[str]:
    """An area over the new take's frames, as high as the part of the picture that changed."""
    parts = np.clip(np.nan_to_num(changes.parts) / FULL, 0, 1) ** 0.5
    bottom = top + CHANGED
    path = "".join(
        f"L{_x(i, scale)} {bottom - v * CHANGED:.1f}L{_x(i + 1, scale)} {bottom - v * CHANGED:.1f}" for i, v in enumerate(parts.tolist())
    )
    yield f'<path class="map-changed" d="M{LEFT} {bottom:g}{path}L{_x(len(parts), scale)} {bottom:g}Z"/>'
    yield f'<line class="map-ground" x1="{LEFT}" x2="{_x(len(parts), scale)}" y1="{bottom:g}" y2="{bottom:g}"/>'
    yield f'<text class="end" x="{LEFT}" y="{bottom + 18:g}">how much of the picture changed</text>'
