"""The marks that look alike wherever they stand on the sheet, as marks.json draws them."""

from __future__ import annotations

from dataclasses import dataclass

from shotcrit.sheet.marks import CURVES, STRETCHES, Point
from shotcrit.sheet.model import SeriesId, Stretch
from shotcrit.sheet.palette import ink
from shotcrit.sheet.svg import Value, el, path, title


@dataclass(frozen=True)
class Box:
    """Where a mark lies: -1..1 across is left..right, 0..1 down is top..bottom."""

    left: float
    right: float
    top: float
    bottom: float

    def at(self, point: Point) -> Point:
        across, down = point
        return self.left + (across + 1) / 2 * (self.right - self.left), self.top + down * (self.bottom - self.top)


def mark(stretch: Stretch, box: Box) -> str:
    """A stretch of a shape that hangs on its box alone: box, outline, strokes."""
    look = STRETCHES[stretch.kind]
    said = title(stretch.text + (f", {stretch.who}" if stretch.who else ""))
    line: dict[str, Value] = {
        "stroke": look.line and ink(look.line),
        "stroke_width": look.width or None,
        "stroke_dasharray": None if stretch.sure else dashes(look.dash),
    }
    if look.shape == "strokes":
        return el("path", said, d=" ".join(path(map(box.at, stroke)) for stroke in look.strokes), fill="none", **line)
    corners = look.outline or ((-1, 0), (1, 0), (1, 1), (-1, 1))
    return el(
        "path",
        said,
        d=path(map(box.at, corners), closed=True),
        fill=ink(look.fill) if look.fill else "none",
        stroke_linejoin="round",
        **line,
    )


def dashes(lengths: tuple[float, ...]) -> str | None:
    return " ".join(f"{length:g}" for length in lengths) or None


def curve_line(series: SeriesId, points: list[Point]) -> str:
    """A run of a curve as its series looks."""
    look = CURVES[series]
    line: dict[str, Value] = {"stroke": ink(look.colour), "stroke_width": look.width, "stroke_dasharray": dashes(look.dash)}
    return el("path", d=path(points), fill="none", stroke_linejoin="round", **line)
