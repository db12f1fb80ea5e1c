"""The eyes of a look, large, in a corner of its still: irises are a few pixels wide on paper, and where they should sit is the point of the drawing."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.ink_look import LOOK
from shotcrit.sheet.palette import PENCILS, ink
from shotcrit.sheet.svg import el, path, title, words

Spots = list[tuple[float, float]]

SMALL = 0.08
"""Of the still's width: a ring up to this wide is an iris, not a region (guess: an eye over a third of the picture)."""
SHARE = 0.38
"""Of the still's width that the inset takes."""
SHAPE = 0.5
"""Its height over its width: two eyes lie side by side."""
AROUND = 1.6
"""Ring widths of face that are shown around the rings."""
EDGE = 6.0
_LABEL = 13.0


@dataclass(frozen=True)
class Ring:
    """Where an iris should sit, in the still's units, and what is said of it."""

    spots: Spots
    label: str

    @property
    def wide(self) -> float:
        return max(x for x, _ in self.spots) - min(x for x, _ in self.spots)

    @property
    def middle(self) -> tuple[float, float]:
        xs, ys = [x for x, _ in self.spots], [y for _, y in self.spots]
        return (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2


def inset(uri: str, rings: Sequence[Ring], drawn: Spots, size: tuple[float, float]) -> list[str]:
    """The inset's SVG, in the corner that is furthest from all that is `drawn`. uri : the still; size : its width and height in the drawing's units."""
    wide, high = size[0] * SHARE, size[0] * SHARE * SHAPE
    x, y = _corner((wide, high), drawn, size)
    left, top, across = _crop(rings)
    scale = wide / across
    name = f"still-{hashlib.sha256(f'{uri}{rings}'.encode()).hexdigest()[:12]}"
    picture = el("image", id=name, href=uri, x=0, y=0, width=size[0], height=size[1], preserveAspectRatio="none")
    parts = [el("g", picture, transform=f"scale({scale:.4f}) translate({-left:.3f} {-top:.3f})")]
    for ring in rings:
        shape = path([((a - left) * scale, (b - top) * scale) for a, b in ring.spots], closed=True)
        parts.append(el("path", d=shape, fill="none", stroke=ink("ink"), stroke_width=4.0, stroke_opacity=0.75))
        parts.append(
            el(
                "path",
                title("where the iris should sit"),
                d=shape,
                fill="none",
                stroke=PENCILS[LOOK.evidence["patch"].pencil],
                stroke_width=2.0,
            )
        )
    parts += [part for ring in rings for part in _label(ring, (left, top, scale), (wide, high))]
    window = el("svg", *parts, x=x, y=y, width=wide, height=high, viewBox=f"0 0 {wide:.2f} {high:.2f}")
    frame = el("rect", x=x, y=y, width=wide, height=high, fill="none", stroke=ink("ink"), stroke_width=2.0)
    return [window, frame]


def _crop(rings: Sequence[Ring]) -> tuple[float, float, float]:
    """Left, top and width of what is shown, the rings in its middle."""
    ring = max(r.wide for r in rings)
    xs, ys = [r.middle[0] for r in rings], [r.middle[1] for r in rings]
    across = max(max(xs) - min(xs), (max(ys) - min(ys)) / SHAPE) + (1 + 2 * AROUND) * ring
    return (max(xs) + min(xs) - across) / 2, (max(ys) + min(ys) - across * SHAPE) / 2, across


def _corner(box: tuple[float, float], drawn: Spots, size: tuple[float, float]) -> tuple[float, float]:
    """Top left of the inset. The lower left corner is left to the frame's number."""
    right, bottom = size[0] - box[0] - EDGE, size[1] - box[1] - EDGE
    corners = [(right, bottom), (right, EDGE), (EDGE, EDGE)]
    return max(corners, key=lambda at: min(_away(spot, at, box) for spot in drawn) if drawn else 0.0)


def _away(spot: tuple[float, float], at: tuple[float, float], box: tuple[float, float]) -> float:
    """How far a spot lies outside of a box at `at`; inside it is negative by how deep."""
    across = max(at[0] - spot[0], spot[0] - at[0] - box[0])
    down = max(at[1] - spot[1], spot[1] - at[1] - box[1])
    return max(across, down)


def _label(ring: Ring, crop: tuple[float, float, float], box: tuple[float, float]) -> list[str]:
    """What is said of a ring, at the inset's lower edge under it."""
    if not ring.label:
        return []
    wide = text_width(ring.label, "b", _LABEL) + 10
    x = min(max((ring.middle[0] - crop[0]) * crop[2] - wide / 2, 2), box[0] - wide - 2)
    y = box[1] - _LABEL - 8
    slip = el("rect", x=x, y=y, width=wide, height=_LABEL + 6, rx=2, fill=ink("ink"), fill_opacity=0.82)
    return [slip, words(x + 5, y + _LABEL + 0.5, ring.label, "b card", _LABEL)]
