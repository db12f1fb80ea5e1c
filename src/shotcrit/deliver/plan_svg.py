"""A look from above and from the side, on a slip of paper: heads, lens, the look as it is in red, as it should be in dashes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import atan2, cos, hypot, pi, radians, sin

from shotcrit.checks.finding import Plan, PlanRay, PlanThing
from shotcrit.sheet.fonts import text_width
from shotcrit.sheet.palette import ink
from shotcrit.sheet.rows_svg import wrap_svg
from shotcrit.sheet.svg import el, path, title, words

WIDE, HIGH = 640.0, 250.0
"""Both views side by side, in the drawing's own units."""
_GAP, _TOP, _EDGE, _LABEL, _ROOM = 12.0, 26.0, 34.0, 13.0, 58.0
_HEAD_M, _LEAST_HEAD, _MOST_HEAD = 0.11, 9.0, 24.0
"""A head's half width, m, and the radii in which it is drawn."""
_STEPS_M = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 50.0)
_BAR = 55.0
"""Least length of the scale's bar."""
_FAR = 1.5
"""A lens farther from the eyes than this many lengths of the look is drawn nearer, with its distance in words, so that the look stays large."""
_ARC, _LEAST_ARC_DEG = 0.42, 0.5
_SAYS = {"above": "from above", "side": "from the side"}

Spot = tuple[float, float]


@dataclass(frozen=True)
class _Panel:
    """Metres to the drawing's units: up on the plan is up on the paper."""

    scale: float
    left: float
    base: float

    def at(self, x: float, y: float) -> Spot:
        return self.left + x * self.scale, self.base - y * self.scale


def plans_svg(plans: Sequence[Plan], alt: str, *, alone: bool) -> str:
    """The plans side by side as one SVG, WIDE units wide; '' where there is none."""
    if not plans:
        return ""
    width = (WIDE - _GAP * (len(plans) - 1)) / len(plans)
    drawn = [part for i, plan in enumerate(plans) for part in _panel(plan, i * (width + _GAP), width)]
    return wrap_svg([title(alt), *drawn], WIDE, HIGH, alone=alone)


def _panel(plan: Plan, x: float, width: float) -> list[str]:
    things = _shown(plan)
    place = _fit(plan, things, x, width)
    paper = el("rect", x=x + 0.5, y=0.5, width=width - 1, height=HIGH - 1, fill=ink("card"), stroke=ink("rule-strong"), stroke_width=1)
    drawn = [paper, *_ground(place, x, width), words(x + 10, 18, _SAYS[plan.view], "b soft", _LABEL)]
    for ray in sorted(plan.rays, key=lambda r: r.kind == "is"):
        drawn += _ray(place, ray)
    drawn += _arc(place, plan)
    for thing in sorted(things, key=lambda t: t.kind != "lens"):
        drawn += _thing(place, thing, x, width)
    return [*drawn, *_bar(place, x, width)]


def _shown(plan: Plan) -> list[PlanThing]:
    """What is drawn: a far lens brought near; from the side only a lens that is looked at, since it stands beside the plane as a rule."""
    target = next(ray.points[1] for ray in plan.rays if ray.kind == "should")
    reach = max(hypot(*target), 0.1)
    out = []
    for thing in plan.things:
        away = hypot(thing.x, thing.y)
        looked_at = hypot(thing.x - target[0], thing.y - target[1]) < 0.02 * reach
        if thing.kind != "lens" or looked_at:
            out.append(thing)
        elif plan.view == "above" and away > _FAR * reach:
            near = _FAR * reach / away
            out.append(replace(thing, x=thing.x * near, y=thing.y * near, name=f"lens, {away:.1f} m away"))
        elif plan.view == "above":
            out.append(thing)
    return out


def _fit(plan: Plan, things: Sequence[PlanThing], x: float, width: float) -> _Panel:
    """The largest scale at which all of it stands inside the panel, in its middle."""
    spots = [(t.x, t.y) for t in things] + [spot for ray in plan.rays for spot in ray.points]
    (x0, x1), (y0, y1) = ((min(v), max(v)) for v in zip(*spots, strict=True))
    wide, high = width - 2 * _ROOM, HIGH - _TOP - _EDGE - 44
    scale = min(wide / max(x1 - x0, 0.3), high / max(y1 - y0, 0.3))
    return _Panel(scale, x + width / 2 - scale * (x0 + x1) / 2, _TOP + 18 + high / 2 + scale * (y0 + y1) / 2)


def _ground(place: _Panel, x: float, width: float) -> list[str]:
    """A faint ruling of one step of the scale."""
    step = _step(place) * place.scale
    xs = [place.left % step + k * step for k in range(int(WIDE / step) + 2)]
    ys = [place.base % step + k * step for k in range(int(HIGH / step) + 2)]
    lines = [path([(v, 1), (v, HIGH - 1)]) for v in xs if x + 1 < v < x + width - 1]
    lines += [path([(x + 1, v), (x + width - 1, v)]) for v in ys if 1 < v < HIGH - 1]
    return [el("path", d=" ".join(lines), stroke=ink("rule"), stroke_width=0.7, fill="none")] if lines else []


def _step(place: _Panel) -> float:
    return next((s for s in _STEPS_M if s * place.scale >= _BAR), _STEPS_M[-1])


def _bar(place: _Panel, x: float, width: float) -> list[str]:
    step = _step(place)
    right, y = x + width - 14, HIGH - 12
    left = right - step * place.scale
    text = f"{step:g} m" if step >= 1 else f"{round(step * 100)} cm"
    line = path([(left, y - 4), (left, y), (right, y), (right, y - 4)])
    return [
        el("path", d=line, stroke=ink("soft"), stroke_width=1, fill="none"),
        words(left - text_width(text, "k", 11) - 5, y + 1, text, "k soft", 11),
    ]


def _pencil(d: str, colour: str, width: float, **more: str | float | None) -> list[str]:
    """A line drawn twice, the second time thinner and beside itself, as a pencil does."""
    style = {"fill": "none", "stroke_linecap": "round", "stroke_linejoin": "round", "stroke": colour, **more}
    return [
        el("path", d=d, stroke_width=width, **style),
        el("path", d=d, stroke_width=width * 0.45, stroke_opacity=0.5, transform="translate(0.7 0.9)", **style),
    ]


def _radius(place: _Panel) -> float:
    return min(max(_HEAD_M * place.scale, _LEAST_HEAD), _MOST_HEAD)


def _ray(place: _Panel, ray: PlanRay) -> list[str]:
    start, end = (place.at(*spot) for spot in ray.points)
    along = atan2(end[1] - start[1], end[0] - start[0])
    barbs = "".join(path([(end[0] - 9 * cos(along + t), end[1] - 9 * sin(along + t)), end]) for t in (pi / 7, -pi / 7))
    if ray.kind == "should":
        return [*_pencil(path([start, end]), ink("ink"), 1.5, stroke_dasharray="7 5"), *_pencil(barbs, ink("ink"), 1.5)]
    return _pencil(path([start, end]) + barbs, ink("red"), 2.2)


def _arc(place: _Panel, plan: Plan) -> list[str]:
    """The angle between the two looks, with its degrees."""
    rays = {ray.kind: ray for ray in plan.rays}
    label = rays["is"].label if {"is", "should"} <= set(rays) else ""
    if not label:
        return []
    start = place.at(*rays["is"].points[0])
    ends = [place.at(*rays[kind].points[1]) for kind in ("should", "is")]
    turns = [atan2(y - start[1], x - start[0]) for x, y in ends]
    sweep = (turns[1] - turns[0] + pi) % (2 * pi) - pi
    radius = max(_radius(place) + 12, _ARC * min(hypot(x - start[0], y - start[1]) for x, y in ends))
    spots = [(start[0] + radius * cos(turns[0] + sweep * k / 12), start[1] + radius * sin(turns[0] + sweep * k / 12)) for k in range(13)]
    # The number stands beyond the red look, on the side away from the dashes.
    beyond = turns[1] + (0.2 if sweep > 0 else -0.2)
    x, y = start[0] + radius * cos(beyond), start[1] + radius * sin(beyond) - 3
    wide = text_width(label, "b", _LABEL)
    x += -wide / 2 + wide * 0.6 * cos(beyond)
    return [*_pencil(path(spots), ink("red"), 1.2), *_plated(x, y + (12 if sin(beyond) > 0.3 else 0), label, "b red", _LABEL)]


def _plated(x: float, y: float, text: str, class_: str, size: float) -> list[str]:
    """Bold words on a slip of the card's colour, so that no line runs through them."""
    wide = text_width(text, "b", size)
    return [
        el("rect", x=x - 2, y=y - size * 0.82, width=wide + 4, height=size * 1.05, fill=ink("card"), fill_opacity=0.85),
        words(x, y, text, class_, size),
    ]


def _thing(place: _Panel, thing: PlanThing, left: float, width: float) -> list[str]:
    x, y = place.at(thing.x, thing.y)
    draw = {"head": _head, "lens": _lens, "thing": _spot}[thing.kind]
    named = thing.name if thing.kind != "thing" else thing.name.replace(".", ", ")
    wide = text_width(named, "b", _LABEL)
    at = min(max(x - wide / 2, left + 6), left + width - wide - 6)
    below = {"head": _radius(place) + _LABEL + 1, "lens": 15.0 + _LABEL, "thing": -11.0}[thing.kind]
    return [*draw(place, thing, x, y), *_plated(at, y + below, named, "b ink", _LABEL)]


def _head(place: _Panel, thing: PlanThing, x: float, y: float) -> list[str]:
    """A round with a nose on the side where the face points."""
    r = _radius(place)
    turns = 36
    rough = [
        (x + r * (1 + 0.02 * sin(5 * k)) * cos(2 * pi * k / turns), y + r * (1 + 0.02 * cos(3 * k)) * sin(2 * pi * k / turns))
        for k in range(turns)
    ]
    drawn = [el("path", d=path(rough, closed=True), fill=ink("shade"))]
    shape = path(rough, closed=True)
    if thing.facing_deg is not None:
        way = -radians(thing.facing_deg)
        nose = [(x + r * k * cos(way + t), y + r * k * sin(way + t)) for k, t in ((0.98, 0.26), (1.36, 0.0), (0.98, -0.26))]
        shape += path(nose)
    return [*drawn, *_pencil(shape, ink("ink"), 1.5)]


def _lens(place: _Panel, thing: PlanThing, x: float, y: float) -> list[str]:
    """A box with a hood that opens to where the lens points."""
    way = -radians(thing.facing_deg) if thing.facing_deg is not None else -pi / 2

    def turned(u: float, v: float) -> Spot:
        return x + u * cos(way) - v * sin(way), y + u * sin(way) + v * cos(way)

    box = [turned(-14, -6), turned(-1, -6), turned(-1, 6), turned(-14, 6)]
    hood = [turned(-1, -3), turned(7, -7), turned(7, 7), turned(-1, 3)]
    return [
        el("path", d=path(box, closed=True) + path(hood, closed=True), fill=ink("card")),
        *_pencil(path(box, closed=True) + path(hood, closed=True), ink("graphite"), 1.4),
    ]


def _spot(place: _Panel, thing: PlanThing, x: float, y: float) -> list[str]:
    cross = path([(x - 5, y - 5), (x + 5, y + 5)]) + path([(x - 5, y + 5), (x + 5, y - 5)])
    return _pencil(cross, ink("ink"), 1.8)
