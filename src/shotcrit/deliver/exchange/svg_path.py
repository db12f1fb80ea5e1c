"""SVG path data and transforms as points (SVG 2, chapters 8.5 and 9.3): curves and arcs become straight pieces."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from math import acos, cos, hypot, pi, radians, sin, sqrt, tan

Point = tuple[float, float]
Matrix = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f: x' = a x + c y + e, y' = b x + d y + f"""

PLAIN: Matrix = (1, 0, 0, 1, 0, 0)
PIECES = 16
"""Straight pieces of a curve (guess: at a stroke's size each is a few pixels)."""
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?"
_TOKEN = re.compile(rf"([MmZzLlHhVvCcSsQqTtAa])|({_NUMBER})|([\s,]+)|(.)", re.DOTALL)
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7, "z": 0}
_FLAGS = re.compile(r"([01])[\s,]*([01])[\s,]*")


def polylines(data: str, most: int) -> list[list[Point]]:
    """The lines of path data. Raises ValueError for what is no path data, or has more than `most` points."""
    pen = _Pen(most)
    for command, numbers in _commands(data):
        pen.do(command, numbers)
    return [line for line in pen.lines if len(line) > 1]


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    """Each command with as many numbers as it takes; more of them repeat it, and after a move draw lines."""
    command, numbers = "", list[float]()
    for name, number in _tokens(data):
        if name:
            if numbers:
                raise ValueError("numbers are missing")
            command = name
            if command in "zZ":
                yield command, []
        elif not command or command in "zZ":
            raise ValueError("a number stands where a command belongs")
        else:
            numbers.append(float(number))
            if len(numbers) == _TAKES[command.lower()]:
                yield command, numbers
                numbers = []
                command = {"M": "L", "m": "l"}.get(command, command)
    if numbers:
        raise ValueError("numbers are missing")


def _tokens(data: str) -> Iterator[tuple[str, str]]:
    """(command, '') or ('', number). The two flags of an arc may stand without anything between them."""
    at, command, count = 0, "", 0
    while at < len(data):
        if command in "aA" and command and count % 7 == 3 and (flags := _FLAGS.match(data, at)):
            yield "", flags[1]
            yield "", flags[2]
            at, count = flags.end(), count + 2
            continue
        found = _TOKEN.match(data, at)
        if found is None or found[4]:
            raise ValueError(f"'{data[at]}' is no path data")
        at = found.end()
        if found[1]:
            command, count = found[1], 0
            yield found[1], ""
        elif found[2]:
            count += 1
            yield "", found[2]


class _Pen:
    """Where the pen is, and the lines it drew. bend : the last control point, for curves that go on smoothly"""

    def __init__(self, most: int) -> None:
        self.lines: list[list[Point]] = []
        self.most = most
        self.count = 0
        self.at: Point = (0.0, 0.0)
        self.start: Point = (0.0, 0.0)
        self.bend: tuple[str, Point] | None = None

    def do(self, command: str, n: list[float]) -> None:
        kind = command.lower()
        base = self.at if command.islower() else (0.0, 0.0)
        ends = [(n[i] + base[0], n[i + 1] + base[1]) for i in range(0, len(n) - 1, 2)] if kind in "mlcsqt" else []
        bend = None
        if kind == "m":
            self.count += 1
            self.lines.append([ends[0]])
            self.at = self.start = ends[0]
        elif kind == "z":
            self._to(self.start)
        elif kind in "hv":
            self._to((n[0] + base[0], self.at[1]) if kind == "h" else (self.at[0], n[0] + base[1]))
        elif kind == "l":
            self._to(ends[0])
        elif kind in "cs":
            first = ends[0] if kind == "c" else self._smooth("c")
            self._curve([self.at, first, ends[-2], ends[-1]])
            bend = ("c", ends[-2])
        elif kind in "qt":
            middle = ends[0] if kind == "q" else self._smooth("q")
            self._curve([self.at, middle, ends[-1]])
            bend = ("q", middle)
        else:
            for point in arc(self.at, n[0], n[1], n[2], n[3] != 0, n[4] != 0, (n[5] + base[0], n[6] + base[1])):
                self._to(point)
        self.bend = bend

    def _to(self, point: Point) -> None:
        if not self.lines:
            raise ValueError("it begins without a move")
        if self.lines[-1][-1] != self.at:
            self.lines.append([self.at])
        self.lines[-1].append(point)
        self.at = point
        self.count += 1
        if self.count > self.most:
            raise ValueError("it has too many points")

    def _smooth(self, kind: str) -> Point:
        """The last control point mirrored at where the pen is."""
        if self.bend is None or self.bend[0] != kind:
            return self.at
        return (2 * self.at[0] - self.bend[1][0], 2 * self.at[1] - self.bend[1][1])

    def _curve(self, points: list[Point]) -> None:
        for step in range(1, PIECES + 1):
            self._to(_bezier(points, step / PIECES))


def _bezier(points: list[Point], t: float) -> Point:
    """De Casteljau's rule."""
    while len(points) > 1:
        points = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(points)]
    return points[0]


def arc(start: Point, rx: float, ry: float, turn: float, large: bool, sweep: bool, end: Point) -> list[Point]:
    """An elliptical arc by its two ends (SVG 2, appendix B.2.4: from end points to the centre)."""
    rx, ry = abs(rx), abs(ry)
    if not rx or not ry or start == end:
        return [end]
    c, s = cos(radians(turn)), sin(radians(turn))
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = c * dx + s * dy, c * dy - s * dx
    grow = max(1.0, sqrt((x / rx) ** 2 + (y / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    under = (rx * y) ** 2 + (ry * x) ** 2
    size = sqrt(max(0.0, ((rx * ry) ** 2 - under) / under)) * (1 if large != sweep else -1)
    cx, cy = size * rx * y / ry, -size * ry * x / rx
    first = _angle((1, 0), ((x - cx) / rx, (y - cy) / ry))
    swept = _angle(((x - cx) / rx, (y - cy) / ry), ((-x - cx) / rx, (-y - cy) / ry))
    swept += 2 * pi if sweep and swept < 0 else -2 * pi if not sweep and swept > 0 else 0
    mx, my = c * cx - s * cy + (start[0] + end[0]) / 2, s * cx + c * cy + (start[1] + end[1]) / 2
    angles = [first + swept * step / PIECES for step in range(1, PIECES)]
    on = [(rx * cos(angle), ry * sin(angle)) for angle in angles]
    return [*((c * u - s * v + mx, s * u + c * v + my) for u, v in on), end]


def _angle(u: Point, v: Point) -> float:
    way = hypot(*u) * hypot(*v)
    found = acos(min(1.0, max(-1.0, (u[0] * v[0] + u[1] * v[1]) / way))) if way else 0.0
    return -found if u[0] * v[1] - u[1] * v[0] < 0 else found


_TRANSFORM = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")


def matrix(text: str) -> Matrix:
    """A transform attribute as one matrix. Raises ValueError for what is none."""
    whole = PLAIN
    for name, inside in _TRANSFORM.findall(text):
        whole = times(whole, _one(name, [float(number) for number in re.findall(_NUMBER, inside)]))
    if _TRANSFORM.sub("", text).strip(" ,\t\r\n"):
        raise ValueError("its transform cannot be read")
    return whole


def _one(name: str, n: list[float]) -> Matrix:
    if name == "matrix" and len(n) == 6:
        return (n[0], n[1], n[2], n[3], n[4], n[5])
    if name == "translate" and len(n) in (1, 2):
        return (1, 0, 0, 1, n[0], n[1] if len(n) == 2 else 0)
    if name == "scale" and len(n) in (1, 2):
        return (n[0], 0, 0, n[-1], 0, 0)
    if name == "rotate" and len(n) in (1, 3):
        c, s = cos(radians(n[0])), sin(radians(n[0]))
        x, y = (n[1], n[2]) if len(n) == 3 else (0.0, 0.0)
        return (c, s, -s, c, x - c * x + s * y, y - s * x - c * y)
    if name == "skewX" and len(n) == 1:
        return (1, 0, tan(radians(n[0])), 1, 0, 0)
    if name == "skewY" and len(n) == 1:
        return (1, tan(radians(n[0])), 0, 1, 0, 0)
    raise ValueError("its transform cannot be read")


def times(m: Matrix, n: Matrix) -> Matrix:
    """First n, then m."""
    a, b, c, d, e, f = m
    return (
        a * n[0] + c * n[1], b * n[0] + d * n[1], a * n[2] + c * n[3], b * n[2] + d * n[3], a * n[4] + c * n[5] + e, b * n[4] + d * n[5] + f,
    )  # fmt: skip


def moved(m: Matrix, point: Point) -> Point:
    return (m[0] * point[0] + m[2] * point[1] + m[4], m[1] * point[0] + m[3] * point[1] + m[5])
