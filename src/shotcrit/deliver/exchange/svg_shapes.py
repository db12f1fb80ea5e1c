"""The lines of an SVG file as strokes of our pencils. Hostile until read: no entities, nothing fetched, nothing followed, bounded in size and depth.

Read are path, line, polyline, polygon, rect, circle, ellipse and text, with their transforms, stroke and fill; all else is passed over and counted.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import hypot, isfinite, sqrt
from typing import get_args
from xml.etree import ElementTree

from shotcrit.crit.records import MOST_POINTS, MOST_STROKES, Colour, Stroke
from shotcrit.deliver.exchange.svg_path import PLAIN, Matrix, Point, arc, matrix, moved, polylines, times
from shotcrit.errors import InputError
from shotcrit.sheet.ink_look import LOOK

MOST_ELEMENTS = 20_000
"""In one file (guess: a drawing has some hundreds)."""
MOST_TOGETHER = 400_000
"""Points of all lines (guess: a full drawing has some ten thousand)."""
STEADY = 0.6
"""The pressure of a line that was not pressed; at a half the line would be thought a mouse's, and thinned where it is quick (sheet/ink.py)."""
THICK = 2 * (LOOK.least + LOOK.gain * STEADY)
"""How many of a stroke's own widths its line is across, at that pressure."""
COLOURS: tuple[Colour, ...] = get_args(Colour)
THIN, WIDEST = 0.0005, 0.5
PASSED = {"svg", "g", "defs", "metadata", "title", "desc", "style", "namedview", "mask", "clipPath", "a"}
"""Elements that draw nothing themselves."""
HIDDEN = {
    "defs",
    "metadata",
    "mask",
    "clipPath",
    "symbol",
    "pattern",
    "marker",
    "linearGradient",
    "radialGradient",
    "script",
    "foreignObject",
}
"""Elements whose insides are not drawn."""
_NAMES = {
    "black": (0, 0, 0), "white": (255, 255, 255), "red": (255, 0, 0), "blue": (0, 0, 255), "green": (0, 128, 0), "yellow": (255, 255, 0),
    "orange": (255, 165, 0), "gray": (128, 128, 128), "grey": (128, 128, 128), "lime": (0, 255, 0), "cyan": (0, 255, 255), "magenta": (255, 0, 255),
}  # fmt: skip


@dataclass(frozen=True)
class Shapes:
    """strokes : in fractions of the file's view; passed : elements that are no lines"""

    strokes: tuple[Stroke, ...]
    passed: int


def svg_root(text: str, name: str) -> ElementTree.Element:
    """The outermost element. Raises InputError, one sentence, for what is no SVG or would make the parser work for others."""
    if text.count("<") > 3 * MOST_ELEMENTS:
        raise InputError(f"{name} has more than {MOST_ELEMENTS:,} elements, which are the most that are read; leave some out")
    if "<!ENTITY" in text or re.search(r"<!DOCTYPE[^>]*\[", text):
        raise InputError(f"{name} declares entities, which no drawing needs; save it as plain SVG")
    try:
        root = ElementTree.fromstring(text)
    except (ElementTree.ParseError, ValueError, RecursionError) as problem:
        raise InputError(f"{name} is no SVG that can be read ({problem}); save it as plain SVG") from problem
    if tag(root) != "svg":
        raise InputError(f"{name} is no SVG; save the drawing as plain SVG")
    return root


def shapes(root: ElementTree.Element, name: str) -> Shapes:
    """Every line in it. Raises InputError, one sentence, for lines that cannot be read, or too many."""
    view = _view(root, name)
    strokes: list[Stroke] = []
    passed = points = 0
    for element, place, look in _drawn(root, name):
        try:
            found = list(_lines(element))
            if tag(element) not in PASSED and not found and tag(element) != "text":
                passed += 1
            points += sum(map(len, found))
            strokes += [_stroke(line, place, view, look) for line in found]
            if (words := _text(element, place, view, look)) is not None:
                strokes.append(words)
        except (ValueError, OverflowError) as problem:
            raise InputError(f"{name}: a {tag(element)} cannot be read ({problem}); save the drawing again as plain SVG") from problem
        if len(strokes) > MOST_STROKES or points > MOST_TOGETHER:
            raise InputError(
                f"{name} has more than {MOST_STROKES:,} lines or {MOST_TOGETHER:,} points, which are the most that are read; leave some out"
            )
    return Shapes(tuple(strokes), passed)


def tag(element: ElementTree.Element) -> str:
    """Its name without its namespace."""
    return str(element.tag).rpartition("}")[2]


View = tuple[float, float, float, float]


def _view(root: ElementTree.Element, name: str) -> View:
    """x, y, width and height of what is shown."""
    numbers = re.findall(r"[-+0-9.eE]+", root.get("viewBox") or "")
    if len(numbers) != 4:
        numbers = ["0", "0", *(re.sub(r"px$", "", root.get(side) or "") for side in ("width", "height"))]
    try:
        x, y, wide, high = (float(number) for number in numbers)
    except ValueError:
        wide = high = 0.0
        x = y = 0.0
    if not (wide > 0 and high > 0 and isfinite(x + y + wide + high)):
        raise InputError(f"{name} does not say how large its picture is; give it a viewBox of the picture's size")
    return x, y, wide, high


Look = Mapping[str, str]


def _drawn(root: ElementTree.Element, name: str) -> Iterator[tuple[ElementTree.Element, Matrix, Look]]:
    """Every element that is shown, with its transform and its look, in the order of painting; without recursion, however deep it is."""
    waiting: list[tuple[ElementTree.Element, Matrix, Look]] = [(root, PLAIN, {})]
    count = 0
    while waiting:
        element, place, look = waiting.pop()
        count += 1
        if count > MOST_ELEMENTS:
            raise InputError(f"{name} has more than {MOST_ELEMENTS:,} elements, which are the most that are read; leave some out")
        look = {**look, **_look(element)}
        if tag(element) in HIDDEN or look.get("display") == "none":
            continue
        try:
            place = times(place, matrix(element.get("transform") or ""))
        except ValueError as problem:
            raise InputError(f"{name}: a {tag(element)} cannot be read ({problem}); save the drawing again as plain SVG") from problem
        yield element, place, look
        waiting += [(child, place, look) for child in reversed(element)]


def _look(element: ElementTree.Element) -> dict[str, str]:
    """stroke, fill, stroke-width and display, from attributes and from the style."""
    wanted = ("stroke", "fill", "stroke-width", "display", "stroke-dasharray", "font-size")
    found = {key: value.strip() for key in wanted if (value := element.get(key)) is not None}
    for part in (element.get("style") or "").split(";"):
        key, colon, value = part.partition(":")
        if colon and key.strip() in wanted:
            found[key.strip()] = value.strip()
    return found


def _lines(element: ElementTree.Element) -> Iterator[list[Point]]:
    kind = tag(element)

    def number(key: str) -> float:
        return float(re.sub(r"px$", "", element.get(key) or "0"))

    if kind == "path":
        yield from polylines(element.get("d") or "", MOST_POINTS)
    elif kind == "line":
        yield [(number("x1"), number("y1")), (number("x2"), number("y2"))]
    elif kind in ("polyline", "polygon"):
        numbers = [float(n) for n in (element.get("points") or "").replace(",", " ").split()]
        points = list(zip(numbers[::2], numbers[1::2], strict=False))
        if len(points) > 1:
            yield [*points, points[0]] if kind == "polygon" else points
    elif kind == "rect":
        x, y, wide, high = (number(key) for key in ("x", "y", "width", "height"))
        yield [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high), (x, y)]
    elif kind in ("circle", "ellipse"):
        cx, cy = number("cx"), number("cy")
        rx, ry = (number("r"), number("r")) if kind == "circle" else (number("rx"), number("ry"))
        left, right = (cx - rx, cy), (cx + rx, cy)
        yield [left, *arc(left, rx, ry, 0, False, True, right), *arc(right, rx, ry, 0, False, True, left)]


def _stroke(line: list[Point], place: Matrix, view: View, look: Look) -> Stroke:
    """Raises ValueError for a line that lies far off the picture, or nowhere."""
    if len(line) > MOST_POINTS:
        raise ValueError("it has too many points")
    width = re.match(r"[0-9.eE+-]+", look.get("stroke-width", "1"))
    scale = sqrt(abs(place[0] * place[3] - place[1] * place[2]))
    wide = float(width[0]) * scale / view[3] / THICK if width else THIN
    points = tuple((*_part(moved(place, point), view), STEADY, 0.0) for point in line)
    dashed = look.get("stroke-dasharray", "none") not in ("none", "", "0")
    return Stroke(colour=_colour(look), width=min(max(wide, THIN), WIDEST), points=points, dashed=dashed)


def _text(element: ElementTree.Element, place: Matrix, view: View, look: Look) -> Stroke | None:
    if tag(element) != "text":
        return None
    words = " ".join("".join(element.itertext()).split())[:200]
    if not words:
        return None
    at = (float((element.get("x") or "0").split()[0]), float((element.get("y") or "0").split()[0]))
    size = re.match(r"[0-9.eE+-]+", look.get("font-size", "16"))
    high = float(size[0] if size else 16) * hypot(place[2], place[3]) / view[3] / LOOK.text
    return Stroke(
        tool="text", colour=_colour({**look, "stroke": look.get("fill", "black")}), text=words, width=min(max(high, THIN), WIDEST),
        points=((*_part(moved(place, at), view), STEADY, 0.0),),
    )  # fmt: skip


def _part(point: Point, view: View) -> Point:
    """As fractions of the view."""
    x, y = (point[0] - view[0]) / view[2], (point[1] - view[1]) / view[3]
    if not (-4 <= x <= 5 and -4 <= y <= 5):
        raise ValueError("it lies far off the picture")
    return x, y


def _colour(look: Look) -> Colour:
    """The pencil that is nearest to the colour: a filled shape's own, else its line's."""
    filled, line = look.get("fill", "none"), look.get("stroke", "none")
    red, green, blue = _rgb(next((said for said in (filled, line) if said not in ("none", "")), "black"))

    def far(colour: Colour) -> float:
        r, g, b = _rgb(LOOK.pencils[colour].colour)
        return (red - r) ** 2 + (green - g) ** 2 + (blue - b) ** 2

    return min(COLOURS, key=far)


def _rgb(text: str) -> tuple[float, float, float]:
    """Black for what is no plain colour."""
    if found := re.fullmatch(r"#([0-9a-fA-F]{6})(?:[0-9a-fA-F]{2})?", text):
        return (int(found[1][:2], 16), int(found[1][2:4], 16), int(found[1][4:], 16))
    if found := re.fullmatch(r"#([0-9a-fA-F])([0-9a-fA-F])([0-9a-fA-F])", text):
        return (17 * int(found[1], 16), 17 * int(found[2], 16), 17 * int(found[3], 16))
    if found := re.fullmatch(r"rgb\(\s*(\d{1,3})\s*,\s*(\d{1,3})\s*,\s*(\d{1,3})\s*\)", text):
        return (float(found[1]), float(found[2]), float(found[3]))
    return _NAMES.get(text.lower(), (0, 0, 0))
