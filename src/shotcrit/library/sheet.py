"""The exposure sheet as a picture that a notebook shows."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from pathlib import Path

from shotcrit.checks.measured import Measured
from shotcrit.deliver.atomic import write_whole
from shotcrit.errors import InputError
from shotcrit.sheet.block import HEAD, ROW, SVG_CSS, Block
from shotcrit.sheet.build import build_sheet
from shotcrit.sheet.fonts import fonts_css
from shotcrit.sheet.layout import columns, least_width
from shotcrit.sheet.palette import ink
from shotcrit.sheet.rows_svg import block_svg, heads_svg, wrap_svg
from shotcrit.sheet.svg import el


@dataclass(frozen=True)
class SheetDrawing:
    """The sheet over frames first..last, drawn. svg : a whole SVG document, with the type that it is set in"""

    svg: str
    first: int
    last: int

    def _repr_svg_(self) -> str:
        return self.svg

    def _repr_html_(self) -> str:
        """As an image, so that its style stays its own."""
        data = base64.b64encode(self.svg.encode()).decode("ascii")
        return f'<img alt="{repr(self).strip("<>")}" src="data:image/svg+xml;base64,{data}">'

    def save(self, path: str | Path) -> Path:
        """Write it as an SVG file, whole or not at all. Raises InputError when that cannot be."""
        write_whole(Path(path), self.svg.encode())
        return Path(path)

    def __repr__(self) -> str:
        return f"<sheet of frames {self.first} to {self.last}>"


def draw_sheet(measured: Measured, first: int | None, last: int | None) -> SheetDrawing:
    """first, last : frames as people count them; the whole shot where not said. Raises InputError for a range that the shot does not have."""
    sheet = build_sheet(measured)
    start = 0 if first is None else sheet.numbering.index(first)
    stop = sheet.frames if last is None else sheet.numbering.index(last) + 1
    if not 0 <= start < stop <= sheet.frames:
        here = f"{sheet.numbering.shown(0)} to {sheet.numbering.shown(sheet.frames - 1)}"
        raise InputError(f"frames {first} to {last} are not in this shot; it has {here}")
    laid = columns(sheet, least_width(sheet) * 1.12)
    block = Block(sheet, start, stop, ROW, laid, {})
    heads = _placed(heads_svg(sheet, laid, alone=False), 0, block.width, HEAD)
    rows = _placed(block_svg(block, alone=False), HEAD, block.width, block.height)
    paper = el("rect", width=block.width, height=HEAD + block.height, fill=ink("paper"))
    drawn = wrap_svg([el("style", fonts_css() + SVG_CSS), paper, heads, rows], block.width, HEAD + block.height, alone=True)
    return SheetDrawing(drawn, sheet.numbering.shown(start), sheet.numbering.shown(stop - 1))


def _placed(svg: str, y: float, width: float, height: float) -> str:
    """A drawing as a part of another, from `y` down."""
    return svg.replace("<svg ", f'<svg y="{y:g}" width="{width:g}" height="{height:g}" ', 1)
