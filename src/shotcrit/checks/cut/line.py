"""Staging across a cut: the line between two people, the direction of a movement, two shots too alike to be cut together."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Limits
from shotcrit.checks.cut.faces import visible
from shotcrit.checks.cut.gaze import cuts_of, looks_at
from shotcrit.checks.cut.meeting import SIDES, Cut
from shotcrit.checks.cut.view import camera_place, side_of_line, to_world
from shotcrit.checks.finding import Cause, Finding, Limit
from shotcrit.checks.sure import about
from shotcrit.clock import Span
from shotcrit.geometry.gaze import angle_deg
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import lens_of, target_of

Array = npt.NDArray[np.float64]

LINE_BASIS = (
    "Arijon (1976, Focal Press, ch. 4-6, second hand): stay on one side of the line between two people, a head-on shot may set a new one; "
    "guess: the size, a fifteenth of a half turn"
)
ALIKE_BASIS = (
    "Corrigan & White (2018, The Film Experience, 5th ed., second hand): "
    "from one shot of a subject to the next the camera moves more than 30 degrees; {}"
)
LIMITS = (
    Limit("line_deg", 12.0, "degrees", LINE_BASIS, "A camera nearer to the line between two heads is on neither side."),
    Limit("move", 0.006, "of the width a frame", "guess: a seventh of the picture in a second", "Movement that has a direction on the screen."),
    Limit("turn_deg", 30.0, "degrees", ALIKE_BASIS.removesuffix("; {}"), "Least turn of the camera about what both shots show."),
    Limit("size", 1.35, "times as large", ALIKE_BASIS.format("guess: how much the size has to change instead"), "Change of size that sets two shots apart."),
)  # fmt: skip
APART = 0.08
"""Share of the width by which two people must stand apart to be left and right of each other (guess)."""
RUN = 6
"""Frames on each side of a cut over which a movement is taken (guess; what moves after the cut matters more, Smith & Santacreu 2017)."""
LEAST_TURN_DEG = 0.5
"""A smaller turn of the camera is not worth a number."""
SAME_WAY = 0.5
"""Least cosine between two movements in the world that are one movement carried on."""


def staging(readings: Readings, limits: Limits) -> Iterator[Finding]:
    """Findings crossed_line, direction_flips and too_alike of every cut."""
    people = [c.name for c in readings.cast.characters] if readings.cast else []
    props = [p.name for p in readings.cast.props] if readings.cast else []
    for cut in cuts_of(readings):
        for one, other in combinations(people, 2):
            yield from _line(readings, cut, one, other, limits)
        both = [w for w in (*people, *props) if visible(readings, w, cut.before) and visible(readings, w, cut.after)]
        for who in both:
            yield from _direction(readings, cut, who, limits)
        if readings.cameras:
            yield from _alike(readings, cut, [w for w in both if w in people], limits)


def _places(readings: Readings, who: str) -> tuple[Array, bool] | None:
    """Camera places of a character's head or prop, and whether a scene gives them."""
    spots = target_of(readings, who)
    return None if spots is None else (spots[0], bool(readings.cameras) and bool((spots[1] == 0).all()))


def _line(readings: Readings, cut: Cut, one: str, other: str, limits: Limits) -> Iterator[Finding]:
    shown = [[visible(readings, w, window) for w in (one, other)] for window in (cut.before, cut.after)]
    if not (any(shown[0]) and any(shown[1])):
        return
    related = all(shown[0]) or all(shown[1]) or other in looks_at(readings, one, cut.before) or one in looks_at(readings, other, cut.before)
    a, b = _places(readings, one), _places(readings, other)
    if not related or a is None or b is None:
        return
    if a[1] and b[1]:
        sides = [
            side_of_line(camera_place(readings, f), to_world(readings, f, a[0][f]), to_world(readings, f, b[0][f])) for f in (cut.first - 1, cut.first)
        ]  # fmt: skip
        if sides[0][0] != sides[1][0] and min(sides[0][1], sides[1][1]) > limits["line_deg"]:
            yield _crossed(readings, cut, one, other, sides[1][1], "degrees past the line", limits["line_deg"], 3)
    elif all(shown[0]) and all(shown[1]):
        apart = [_apart(readings, a[0], b[0], window) for window in (cut.before, cut.after)]
        if apart[0] * apart[1] < 0 and min(abs(v) for v in apart) > APART:
            yield _crossed(readings, cut, one, other, abs(apart[1]), "of the width apart, sides changed", APART, 2)


def _apart(readings: Readings, a: Array, b: Array, window: Span) -> float:
    """How far b is to screen right of a, as a share of the width, over the window."""
    part = slice(window.start, window.stop)
    x = [v[part, 0] / v[part, 2] for v in (a, b)]
    known = np.isfinite(x[0]) & np.isfinite(x[1])
    return float(np.median((x[1] - x[0])[known])) * _per_width(readings) if known.any() else 0.0


def _per_width(readings: Readings) -> float:
    """From tangents to shares of the width, at the lens in use."""
    lens = lens_of(readings, 0)
    return lens.focal_x / lens.width


def _crossed(readings: Readings, cut: Cut, one: str, other: str, value: float, unit: str, limit: float, level: int) -> Finding:
    at = readings.numbering.shown(cut.first)
    how = (
        "the camera crosses the line between them"
        if level == 3
        else "the camera crosses the line between them, or they have changed places"
    )
    return Finding(
        "cut", "crossed_line", None, cut.span, round(value, 2 if level == 2 else 1), unit, limit, "polish", 0.7 if level == 3 else 0.5,
        f"{one} and {other} change sides on the screen at the cut to {at}: {how}",
        "Keep the camera on its side of the line, or put a shot on the line, or a move across it, in between", LINE_BASIS,
        level=3 if level == 3 else 2, causes=(Cause(SIDES, "", cut.span),),
    )  # fmt: skip


def _direction(readings: Readings, cut: Cut, who: str, limits: Limits) -> Iterator[Finding]:
    """One movement that goes to one side before the cut and to the other after it."""
    actor = readings.actor(who)
    spans = Span(max(cut.before.start, cut.first - RUN), cut.first), Span(cut.first, min(cut.after.stop, cut.first + RUN))
    if actor is None or min(len(s) for s in spans) < 3:
        return
    ways = [_way(readings, actor, span) for span in spans]
    if ways[0] is None or ways[1] is None:
        return
    (before, world_before), (after, world_after) = ways[0], ways[1]
    least = limits["move"] * 24 / float(readings.movie.rate)
    if before * after >= 0 or min(abs(before), abs(after)) <= least:
        return
    if world_before is not None and world_after is not None and _cosine(world_before, world_after) < SAME_WAY:
        return
    at = readings.numbering.shown(cut.first)
    sides = ["right" if v > 0 else "left" for v in (before, after)]
    level = 3 if world_before is not None else 2
    yield Finding(
        "cut", "direction_flips", who, cut.span, round(after, 4), "of the width a frame, + is to screen right", round(least, 4), "polish",
        0.7 if level == 3 else 0.5, f"{who} goes to screen {sides[0]} before the cut to {at} and to screen {sides[1]} after it",
        "Film the movement from the same side, or put a shot along its way in between", LINE_BASIS.format("the speed is a guess"), level=3 if level == 3 else 2,
        causes=(Cause(SIDES, "", cut.span),),
    )  # fmt: skip


def _apart_words(turn: float) -> str:
    return f"{about(turn, 0.0, 'degree')} apart" if turn >= LEAST_TURN_DEG else "the same side"


def _cosine(a: Array, b: Array) -> float:
    return float(a @ b / max(float(np.linalg.norm(a) * np.linalg.norm(b)), 1e-9))


def _way(readings: Readings, actor: Acting, span: Span) -> tuple[float, Array | None] | None:
    """Movement on the picture in shares of the width a frame, against the set where its movement is known; and in the world, m a frame."""
    names = [n for n in ("hips", "chest", "nose", "head_top") if n in actor.marks] or sorted(actor.marks)
    part = slice(span.start, span.stop)
    for name in names:
        track = actor.marks[name]
        x = np.asarray(track.xy, np.float64)[part, 0]
        if np.isfinite(x).all():
            world = None if track.world is None else np.asarray(track.world, np.float64)[part]
            steps = np.diff(x) - _set_steps(readings, track.xy, part)
            # In a scene what moves against the set is known; the picture of it is its movement across the camera.
            across = float(np.median(steps)) if world is None or not readings.cameras else _across(readings, world, span)
            return across, None if world is None else world[-1] - world[0]
    return None


def _across(readings: Readings, world: Array, span: Span) -> float:
    pose = np.asarray(readings.cameras[span.start].world_to_camera, np.float64)
    moved = pose[:3, :3] @ ((world[-1] - world[0]) / (len(world) - 1))
    depth = float((pose[:3, :3] @ world[0] + pose[:3, 3])[2])
    return float(moved[0] / max(depth, 0.1)) * _per_width(readings)


def _set_steps(readings: Readings, xy: npt.NDArray[np.float32], part: slice) -> Array:
    """How far the set moves under the mark from frame to frame, shares of the width; nought where it was not read."""
    camera = readings.picture.camera if readings.picture else None
    seen = np.asarray(xy, np.float64)[part]
    width, height = readings.movie.width or 1, readings.movie.height or 1
    if camera is None:
        return np.zeros(len(seen) - 1)
    places = np.column_stack([seen[:-1] * (width, height), np.ones(len(seen) - 1)])
    moved = np.einsum("nj,nj->n", np.asarray(camera, np.float64)[part][1:, 0], places) - places[:, 0]
    return np.asarray(np.nan_to_num(moved) / width)


def _alike(readings: Readings, cut: Cut, people: list[str], limits: Limits) -> Iterator[Finding]:
    """The 30-degree rule on the nearest person of both shots."""
    spots = {who: place for who in people if (place := _places(readings, who)) is not None and place[1]}
    if not spots:
        return
    who = min(spots, key=lambda w: float(spots[w][0][cut.first, 2]))
    frames = (cut.first - 1, cut.first)
    heads = [to_world(readings, f, spots[who][0][f]) for f in frames]
    ways = [camera_place(readings, f) - head for f, head in zip(frames, heads, strict=True)]
    turn = float(angle_deg(ways[0], ways[1]))
    sizes = [float(readings.cameras[f].matrix[1, 1] / spots[who][0][f, 2]) for f in frames]
    change = max(sizes) / max(min(sizes), 1e-9)
    if not (np.isfinite(turn) and turn < limits["turn_deg"] and change < limits["size"]):
        return
    at = readings.numbering.shown(cut.first)
    size = "as large" if f"{change:.1f}" == "1.0" else f"{change:.1f} times as large"
    yield Finding(
        "cut", "too_alike", who, cut.span, round(turn, 1), "degrees that the camera turns about them", limits["turn_deg"], "polish", 0.5,
        f"The shots before and after {at} show {who} from nearly the same place ({_apart_words(turn)}, {size}): the cut reads as a jump",
        "Move the camera by 30 degrees or more, or change the size of the shot clearly", ALIKE_BASIS.removesuffix("; {}"), level=3,
    )  # fmt: skip
