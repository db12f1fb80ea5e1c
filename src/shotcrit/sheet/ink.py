"""What a stroke of the pen covers: a round tip pulled along the line, as thick at every point as the pen was pressed there.

The same rules stand in web/src/ink/outline.ts; tests/vectors/ink.json holds both to the same numbers.
All lengths are in units of a picture LOOK.units high, whatever the picture's real size.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import acos, atan2, ceil, cos, hypot, pi, sin

from shotcrit.crit.records import Stroke
from shotcrit.sheet.ink_look import LOOK, InkLook

Spot = tuple[float, float, float]
"""x, y and the tip's radius there."""
Point = tuple[float, float]


def pressed_line(stroke: Stroke, aspect: float, look: InkLook = LOOK) -> list[Spot]:
    """Where the tip goes, close enough together to be joined by straight pieces. aspect: the picture's width over its height."""
    return _curved(_tips(_followed(stroke, aspect, look), stroke.width, look), look)


def dashed(line: Sequence[Spot], width: float, look: InkLook = LOOK) -> list[list[Spot]]:
    """The pieces of a line that dashes leave; on and off are in the thickness of a line pressed by half."""
    usual = 2 * width * look.units * (look.least + look.gain / 2)
    on, off = look.on * usual, look.off * usual
    pieces: list[list[Spot]] = [[line[0]]]
    gone, inked = 0.0, True
    for a, b in pairwise(line):
        way = hypot(b[0] - a[0], b[1] - a[1])
        done = 0.0
        while done < way:
            step = min((on if inked else off) - gone, way - done)
            done, gone = done + step, gone + step
            if inked:
                pieces[-1].append(_between(a, b, done / way))
            if gone >= (on if inked else off):
                inked, gone = not inked, 0.0
                if inked:
                    pieces.append([_between(a, b, done / way)])
    return pieces


def covered(line: Sequence[Spot]) -> str:
    """SVG path data of everything that the tip covers, all turned one way round, so that no fill rule leaves a hole."""
    if len(line) == 1:
        return _disc(*line[0])
    return "".join(_piece(a, b) for a, b in pairwise(line))


def line_path(stroke: Stroke, aspect: float, look: InkLook = LOOK) -> str:
    """SVG path data of the tools that are made of two ends, without what is never dashed: an ellipse, or a shaft."""
    (ax, ay), (bx, by) = _placed(stroke, aspect, look)[0], _placed(stroke, aspect, look)[-1]
    if stroke.tool == "ellipse":
        rx, ry = abs(bx - ax) / 2, abs(by - ay) / 2
        return f"M{_n(min(ax, bx))} {_n((ay + by) / 2)}{_half(rx, ry, 2 * rx)}{_half(rx, ry, -2 * rx)}"
    return f"M{_n(ax)} {_n(ay)}L{_n(bx)} {_n(by)}"


def ends_path(stroke: Stroke, aspect: float, look: InkLook = LOOK) -> str:
    """What is never dashed: an arrow's head, and the ring where a sight line begins. Empty for an ellipse."""
    if stroke.tool == "ellipse":
        return ""
    a, b, r = _placed(stroke, aspect, look)[0], _placed(stroke, aspect, look)[-1], look.ring
    ring = f"M{_n(a[0] - r)} {_n(a[1])}{_half(r, r, 2 * r)}{_half(r, r, -2 * r)}" if stroke.tool == "sight" else ""
    return ring + _barbs(a, b, look)


def thickness(stroke: Stroke, look: InkLook = LOOK) -> float:
    """Of the tools that are made of two ends, and do not feel the pen's pressure."""
    return stroke.width * look.units


def _placed(stroke: Stroke, aspect: float, look: InkLook) -> list[Point]:
    return [(x * look.units * aspect, y * look.units) for x, y, _, _ in stroke.points]


def _followed(stroke: Stroke, aspect: float, look: InkLook) -> list[Spot]:
    """The pen's points with their pressure, the hand's shake taken out; the line ends where the pen was lifted."""
    points = [(x, y, raw[2]) for (x, y), raw in zip(_placed(stroke, aspect, look), stroke.points, strict=True)]
    out = points[:1]
    for i, (x, y, pressure) in enumerate(points[1:], start=1):
        px, py, _ = out[-1]
        last = i == len(points) - 1
        near = (x, y) if last else (px + (x - px) * look.follow, py + (y - py) * look.follow)
        way = hypot(near[0] - px, near[1] - py)
        if way >= look.apart or (last and way > 0):
            out.append((*near, pressure))
    return out


def _tips(points: Sequence[Spot], width: float, look: InkLook) -> list[Spot]:
    """The tip's radius instead of the pressure."""
    pressures = [p for _, _, p in points]
    if all(p == look.unpressed for p in pressures):
        pressures = _by_pace(points, width * look.units * look.reach, look)
    size = width * look.units
    return [(x, y, size * (look.least + look.gain * p)) for (x, y, _), p in zip(points, pressures, strict=True)]


def _by_pace(points: Sequence[Spot], reach: float, look: InkLook) -> list[float]:
    """What a hand without a pen would press: less where it is quick."""
    out = [look.unpressed]
    for a, b in pairwise(points):
        pace = min(1.0, hypot(b[0] - a[0], b[1] - a[1]) / reach)
        out.append(out[-1] + (1 - pace - out[-1]) * pace * look.rate)
    return out


def _curved(points: Sequence[Spot], look: InkLook) -> list[Spot]:
    """Straight to the middle of the first piece, round each point to the middle of the next, straight to the end."""
    if len(points) < 3:
        return list(points)
    out = [points[0]]
    start = _between(points[0], points[1], 0.5)
    out.append(start)
    for corner, after in pairwise(points[1:]):
        stop = _between(corner, after, 0.5)
        way = hypot(corner[0] - start[0], corner[1] - start[1]) + hypot(stop[0] - corner[0], stop[1] - corner[1])
        steps = max(1, ceil(way / look.step))
        out += [_bent(start, corner, stop, k / steps) for k in range(1, steps + 1)]
        start = stop
    return [*out, points[-1]]


def _between(a: Spot, b: Spot, t: float) -> Spot:
    return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t)


def _bent(a: Spot, corner: Spot, b: Spot, t: float) -> Spot:
    return _between(_between(a, corner, t), _between(corner, b, t), t)


def _piece(a: Spot, b: Spot) -> str:
    """Two discs and what lies between their outer tangents; the larger alone where it holds the other."""
    way = hypot(b[0] - a[0], b[1] - a[1])
    if way <= abs(b[2] - a[2]):
        return _disc(*max(a, b, key=lambda spot: spot[2]))
    along, turn = atan2(b[1] - a[1], b[0] - a[0]), acos((a[2] - b[2]) / way)
    left, right = along - turn, along + turn
    long_at_b = int(2 * turn > pi)
    return (
        f"M{_on(a, left)}L{_on(b, left)}A{_n(b[2])} {_n(b[2])} 0 {long_at_b} 1 {_on(b, right)}"
        f"L{_on(a, right)}A{_n(a[2])} {_n(a[2])} 0 {1 - long_at_b} 1 {_on(a, left)}Z"
    )


def _on(spot: Spot, angle: float) -> str:
    return f"{_n(spot[0] + spot[2] * cos(angle))} {_n(spot[1] + spot[2] * sin(angle))}"


def _disc(x: float, y: float, r: float) -> str:
    return f"M{_n(x - r)} {_n(y)}{_half(r, r, 2 * r)}{_half(r, r, -2 * r)}Z"


def _half(rx: float, ry: float, dx: float) -> str:
    return f"a{_n(rx)} {_n(ry)} 0 1 1 {_n(dx)} 0"


def _barbs(a: Point, b: Point, look: InkLook) -> str:
    along = atan2(b[1] - a[1], b[0] - a[0])
    left, right = ((b[0] - look.barb * cos(along + turn), b[1] - look.barb * sin(along + turn)) for turn in (-look.turn, look.turn))
    return f"M{_n(left[0])} {_n(left[1])}L{_n(b[0])} {_n(b[1])}L{_n(right[0])} {_n(right[1])}"


def _n(value: float) -> str:
    """Hundredths of a thousandth of the height: finer than any screen."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
