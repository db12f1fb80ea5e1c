"""Drawings as SVG, out and in: a file a drawing, as large as the picture, so that it lies over the frame as drawn.

The look is outlines; what the pen gave stands in the file's metadata, and is believed as long as nobody changed the outlines. Frames are in `data-`
attributes of the outermost element, as shown; a file without them says its frame in its name: 'brows-frame1046.svg', 'arc-frame1046-1052.svg'.
"""

from __future__ import annotations

import re
from hashlib import sha256
from xml.etree import ElementTree
from xml.sax.saxutils import escape

from pydantic import TypeAdapter, ValidationError

from shotcrit.clock import parse_rate, rate_text
from shotcrit.counted import counted
from shotcrit.crit.records import Stroke
from shotcrit.deliver.crit_input import CritForDelivery, Drawn
from shotcrit.deliver.exchange.counting import Counting
from shotcrit.deliver.exchange.format import Format, Made, counting
from shotcrit.deliver.exchange.incoming import Incoming, Source, drawn, same_first_frame, same_rate, text_of
from shotcrit.deliver.exchange.svg_shapes import shapes, svg_root, tag
from shotcrit.errors import InputError
from shotcrit.sheet.ink_svg import WIDE, drawing_svg
from shotcrit.sheet.svg import clean, el, title

STROKES = TypeAdapter(tuple[Stroke, ...])
DEFAULT_SIZE = (1280, 720)
"""Of a drawing over a sound alone."""
LETTERS = {"font_family": "IBM Plex Sans, Helvetica, Arial, sans-serif", "font_weight": "600"}
"""Of drawn words, with stand-ins where our own font is not installed."""
_AT = re.compile(r"frame[ _-]?(-?\d{1,8})(?:(?:-|_|to)(-?\d{1,8}))?", re.IGNORECASE)


def drawings_svg(crit: CritForDelivery) -> Made:
    """'note2-frame1060.svg' and so on. Raises InputError where nothing is drawn."""
    count, size = counting(crit), picture_size(crit)
    files = {
        name_of(number, at, one, count): svg_of(one, size, count, note.what).encode()
        for number, note in enumerate(crit.notes, start=1)
        for at, one in enumerate(note.drawings)
    }
    if not files:
        raise InputError(f"no note of {crit.shot} has a drawing; leave drawings out")
    return Made(files, (count.remark,) if count.remark else ())


def picture_size(crit: CritForDelivery) -> tuple[int, int]:
    """Width and height, px; of a sound alone those of a usual picture."""
    info = crit.measured.readings.movie
    return (info.width, info.height) if info.width and info.height else DEFAULT_SIZE


def name_of(number: int, at: int, one: Drawn, count: Counting) -> str:
    more = f"-{at + 1}" if at else ""
    last = f"-{count.shown(one.last)}" if one.last > one.first else ""
    return f"note{number}{more}-frame{count.shown(one.first)}{last}.svg"


def svg_of(one: Drawn, size: tuple[int, int], count: Counting, says: str) -> str:
    """One drawing by itself."""
    wide, high = size
    look = el("g", drawing_svg(one.strokes, high / wide, "drawn") or "", transform=f"scale({wide / WIDE:.6f})", **LETTERS)
    told = el("desc", escape(clean(f"{count.frames(one.first, one.last)}; {count.about()}")))
    raw = escape(clean(STROKES.dump_json(one.strokes).decode()))
    kept = el("metadata", raw, data_of=digest(ElementTree.fromstring(f"<svg xmlns='http://www.w3.org/2000/svg'>{look}</svg>")))
    return el(
        "svg", title(says), told, kept, look, xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {wide} {high}", width=wide, height=high,
        data_first=str(count.shown(one.first)), data_last=str(count.shown(one.last)), data_first_frame=str(count.first_frame),
        data_rate=rate_text(count.rate), data_timecode=count.timecode(one.first),
    )  # fmt: skip


def digest(root: ElementTree.Element) -> str:
    """Of all that is drawn: it stays while nobody changes an outline, a transform, a colour or a word."""
    told = [
        f"{tag(e)}|{e.get('d')}|{e.get('transform')}|{e.get('fill')}|{(e.text or '').strip()}"
        for e in root.iter()
        if tag(e) in ("g", "path", "text", "circle", "ellipse", "line", "polyline", "polygon", "rect")
    ]
    return sha256("\n".join(told).encode()).hexdigest()[:16]


def strokes_of(root: ElementTree.Element, name: str) -> tuple[tuple[Stroke, ...], int]:
    """What the pen gave, if the file still shows that; else its lines, and how many things were passed over. Raises InputError, one sentence."""
    kept = next((e for e in root.iter() if str(e.tag).endswith("metadata") and e.get("data-of")), None)
    if kept is not None and kept.get("data-of") == digest(root):
        try:
            return STROKES.validate_json(kept.text or ""), 0
        except ValidationError:
            pass
    found = shapes(root, name)
    return found.strokes, found.passed


def read_drawings_svg(data: bytes, name: str, count: Counting) -> Incoming:
    """One drawing that belongs to no note. Raises InputError, one sentence."""
    root = svg_root(text_of(data, name), name)
    first, last = _frames(root, name, count)
    strokes, passed = strokes_of(root, name)
    if not strokes:
        raise InputError(f"{name} holds no lines; draw with lines and shapes, or choose the file that has them")
    says = f"{counted(passed, 'thing')} in {name} {'is no line, and was' if passed == 1 else 'are no lines, and were'} passed over."
    return Incoming((), (drawn(first, last, strokes, count, name),), (says,) if passed else ())


def _frames(root: ElementTree.Element, name: str, count: Counting) -> tuple[int, int]:
    if rate := root.get("data-rate"):
        same_rate(parse_rate(rate), count, name)
    if counted_from := root.get("data-first-frame"):
        same_first_frame(counted_from, count, name)
    told = (root.get("data-first") or "", root.get("data-last") or "")
    if not all(re.fullmatch(r"-?\d{1,8}", text, re.ASCII) for text in told):
        found = _AT.search(name)
        if found is None:
            raise InputError(f"{name} does not say on which frame it lies; put it in its name, as in drawing-frame{count.first_frame}.svg")
        told = (found[1], found[2] or found[1])
    return count.numbering.index(int(told[0])), count.numbering.index(int(told[1]))


FORMAT = Format(
    "drawings",
    "drawings",
    "Each drawing as SVG, as large as the picture, to lie over the frames in any program.",
    "Each drawing with its frames, first frame, exact rate and time code; outlines as they look, and what the pen gave. No words but those drawn.",
    drawings_svg,
)
SOURCE = Source(
    "SVG",
    (".svg",),
    "lines, shapes and words, as large as the picture; its frame in `data-first` or in its name (`frame1046`)",
    read_drawings_svg,
)
