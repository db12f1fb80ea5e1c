"""One run of rows of the sheet as SVG: ground, rules, frame numbers, cuts. What stands in the columns comes from its neighbours."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shotcrit.sheet.fonts import FACES_CSS, Face, fit, text_width
from shotcrit.sheet.layout import Column, beat, frames_a_second
from shotcrit.sheet.marks import STRETCHES
from shotcrit.sheet.model import Sheet
from shotcrit.sheet.palette import COLOURS, ink
from shotcrit.sheet.svg import Value, el, number, path, words

ROW = 10.4
"""Height of a row, in points, that all sizes below are meant for."""
HEAD = 24.0
"""Height of the columns' heads, in points."""
_NUMBER, _TIME, _HEADING, _WHOSE = 7.1, 5.6, 7.4, 6.6

SVG_CSS = FACES_CSS + "".join(f".{c.name} {{ fill: {c.hex} }}\n" for c in COLOURS if c.role in ("text", "ground"))
"""What the classes in our drawings mean; a page has it once, a PDF's picture carries it inside."""


@dataclass(frozen=True)
class Block:
    """Rows first .. stop-1 of a sheet, `row` points high each, in the given columns.

    stills : JPEG as data URI and its height over its width, by frame index, for the first row of each shot
    links : whether findings lead to '#finding-N' on the page that holds the sheet
    """

    sheet: Sheet
    first: int
    stop: int
    row: float
    columns: tuple[Column, ...]
    stills: Mapping[int, tuple[str, float]]
    links: bool = False

    @property
    def width(self) -> float:
        return self.columns[-1].x + self.columns[-1].width

    @property
    def height(self) -> float:
        return (self.stop - self.first) * self.row

    def y(self, position: float) -> float:
        """Where a row position stands."""
        return (position - self.first) * self.row

    def size(self, points: float) -> float:
        """A type size that keeps its proportion to the row, never larger than a fifth over."""
        return points * min(self.row / ROW, 1.2)

    def touches(self, start: float, stop: float) -> bool:
        """Whether anything of start..stop falls on these rows."""
        return start < self.stop and stop > self.first

    def starts_here(self, start: float) -> bool:
        """Whether what begins at `start` is named on this block; what begins before the first picture is named on the first."""
        return self.first <= max(start, 0) < self.stop


Drawer = Callable[[Block, Column], list[str]]


def ground(block: Block) -> list[str]:
    """Rules: one a frame, stronger each half second, strongest each second; columns parted by hairlines."""
    second, half = frames_a_second(block.sheet), beat(block.sheet)
    kinds: dict[str, list[str]] = {"frame": [], "half": [], "second": []}
    for i in range(block.first, block.stop + 1):
        within = i % second
        kind = "second" if within == 0 else "half" if within == half else "frame"
        kinds[kind].append(f"M0 {number(block.y(i))}H{number(block.width)}")
    drawn = [
        el("path", d="".join(kinds["frame"]), stroke=ink("rule"), stroke_width=0.35, fill="none"),
        el("path", d="".join(kinds["half"]), stroke=ink("rule-strong"), stroke_width=0.45, fill="none"),
        el("path", d="".join(kinds["second"]), stroke=ink("rule-strong"), stroke_width=0.9, fill="none"),
    ]
    uprights = "".join(f"M{number(c.x)} 0V{number(block.height)}" for c in block.columns[1:])
    drawn.append(el("path", d=uprights, stroke=ink("rule-strong"), stroke_width=0.35, fill="none"))
    return drawn


def frame_numbers(block: Block, column: Column) -> list[str]:
    """Every row's number; each whole second also as minutes and seconds."""
    second, right = frames_a_second(block.sheet), column.x + column.width - 3
    drawn = []
    for i in range(block.first, block.stop):
        strong = i % second == 0
        shown = str(block.sheet.numbering.shown(i))
        text, face, size = fit(shown, "b" if strong else "r", block.size(_NUMBER), column.width - 4 - (14 if strong else 0))
        base = block.y(i) + block.row / 2 + size * 0.35
        drawn.append(words(right, base, text, f"{face} {'ink' if strong else 'soft'}", size, text_anchor="end"))
        if strong:
            label = f"{i // second // 60}:{i // second % 60:02d}"
            drawn.append(words(column.x + 1, base, label, "c soft", block.size(_TIME)))
    return drawn


_PAPER_OVER = 0.72
"""How much of what does not count the paper over it hides; as in the room."""


def handles(block: Block) -> list[str]:
    """What does not count lies under thin paper, with a ruled line where the judged frames begin and end."""
    counts = block.sheet.counts
    if counts is None:
        return []
    top, bottom = (min(max(block.y(at), 0), block.height) for at in (counts.start, counts.stop))
    thin: dict[str, Value] = {"x": 0, "width": block.width, "fill": ink("shade"), "fill_opacity": _PAPER_OVER}
    over = [el("rect", y=y, height=height, **thin) for y, height in ((0, top), (bottom, block.height - bottom)) if height > 0]
    edges = [path([(0, block.y(at)), (block.width, block.y(at))]) for at in (counts.start, counts.stop) if block.first <= at <= block.stop]
    return [*over, *(el("path", d=edge, stroke=ink("ink"), stroke_width=0.6) for edge in edges)]


def _cuts_here(block: Block) -> list[tuple[str, float]]:
    """What each cut is called and where the new shot's first row begins."""
    return [(cut.text, block.y(cut.start)) for cut in block.sheet.stretches("picture", "cut") if block.first <= cut.start < block.stop]


def cut_lines(block: Block) -> list[str]:
    """A heavy line over the whole sheet where a new shot begins."""
    look = STRETCHES["cut"]
    line: dict[str, Value] = {"stroke": ink(look.line or "ink"), "stroke_width": look.width}
    return [el("path", d=path([(0, y), (block.width, y)]), **line) for _, y in _cuts_here(block)]


def cut_names(block: Block) -> list[str]:
    """A tab at the end of each cut's line."""
    return [part for text, y in _cuts_here(block) for part in _tab(block, y, text)]


def _tab(block: Block, y: float, label: str) -> list[str]:
    """A small dark tab that hangs at the right end of a cut's line."""
    size = block.size(6.2)
    wide = text_width(label, "k", size) + 5
    left = block.width - wide
    box = el("path", d=path([(left, y), (left, y + size + 3), (block.width, y + size + 3), (block.width, y)], closed=True), class_="ink")
    return [box, words(left + 2.5, y + size, label, "k paper", size)]


def plate(left: float, base: float, text: str, face: Face, size: float) -> str:
    """A piece of paper under a word, so that no rule runs through it."""
    wide = text_width(text, face, size)
    return el("rect", x=left - 0.8, y=base - size * 0.78, width=wide + 1.6, height=size * 0.84, class_="paper")


def stills(block: Block, column: Column) -> list[str]:
    """A small still at the first row of each shot, in the room for notes."""
    drawn = []
    for index, (uri, shape) in block.stills.items():
        if block.first <= index < block.stop:
            wide = min(column.width - 5, 5.2 * block.row / shape, 96.0)
            top = min(block.y(index) + block.size(11.5), block.height - wide * shape - 1)
            box = {"x": column.x + column.width - wide - 2, "y": max(top, 1.0), "width": wide, "height": wide * shape}
            drawn.append(el("image", href=uri, **box, preserveAspectRatio="none"))
            drawn.append(el("rect", **box, fill="none", stroke=ink("soft"), stroke_width=0.5))
    return drawn


def heads(columns: tuple[Column, ...], labels: Mapping[str, str]) -> list[str]:
    """The columns' heads: what, and whose."""
    width = columns[-1].x + columns[-1].width
    drawn = [el("path", d=path([(0, HEAD - 0.5), (width, HEAD - 0.5)]), stroke=ink("ink"), stroke_width=1)]
    for column in columns:
        text, face, size = fit(labels[column.kind], "k", _HEADING, column.width - 1.5)
        middle = column.x + column.width / 2
        drawn.append(words(middle, 10, text, f"{face} ink", size, text_anchor="middle"))
        if column.lane.who:
            text, face, size = fit(column.lane.who, "c", _WHOSE, column.width - 2)
            drawn.append(words(middle, 18.5, text, f"{face} soft", size, text_anchor="middle"))
    return drawn
