"""Gaze across a cut: two faces that should meet and do not, and a look off screen that the next shot does not answer.

Where a scene knows all places the looks are held against them; in the picture alone the two faces' angles should mirror each other, which
takes the cameras to stand and tilt alike; that is said, and carried by the error bar.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.cut.faces import WINDOW, Face, face_at, visible
from shotcrit.checks.cut.view import unanswered_deg
from shotcrit.checks.finding import Finding, Limit, NotMeasured, Stroke
from shotcrit.clock import Span
from shotcrit.geometry.cameras import project
from shotcrit.geometry.gaze import CONE_OUTER_DEG, Miss, miss
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import lens_of, target_of
from shotcrit.readings.looks.wanted import ACROSS_CUT_DEG, ACROSS_CUT_SIDE_DEG, look_span
from shotcrit.readings.shots import shots_of

MEET_BASIS = (
    "Arijon (1976), Grammar of the Film Language, ch. 4-6 (rule; second hand): one looks screen right and down, the other answers screen left and up; "
    "the size is a guess, above the 2 degrees that are seen"
)
VIEW_BASIS = "Katz (1991), Film Directing Shot by Shot (rule; second hand): a look off screen asks for what it is at; the size is a guess"
LIMITS = (
    Limit("meet_deg", 5.0, "degrees", MEET_BASIS, "How far two looks may miss each other across a cut."),
    Limit("neutral_deg", 6.0, "degrees", MEET_BASIS, "A look nearer to the lens than this has no side; a head-on shot may set a new one."),
    Limit("view_deg", 8.0, "degrees", VIEW_BASIS, "How far a look off screen may pass what the next shot shows."),
)
EYES = "marks for the eyes of who is on each side of the cut at {cut}, or a scene with cameras"


@dataclass(frozen=True)
class Cut:
    """A cut and the frames just before and after it, each within its shot. first : first frame of the new shot."""

    first: int
    before: Span
    after: Span


def cuts_of(readings: Readings) -> list[Cut]:
    """Every cut with its two windows."""
    parts = shots_of(readings)
    return [
        Cut(b.start, Span(max(a.start, a.stop - WINDOW), a.stop), Span(b.start, min(b.stop, b.start + WINDOW))) for a, b in pairwise(parts)
    ]


def looks_at(readings: Readings, who: str, window: Span) -> set[str]:
    """What the cast says that `who` looks at in the window; empty where it says nothing."""
    said = readings.cast.looks if readings.cast else ()
    spans = [(look, look_span(readings, look)) for look in said if look.who == who]
    return {look.at if isinstance(look.at, str) else "" for look, span in spans if span is not None and span.overlap(window)}


def reverses(readings: Readings) -> set[int]:
    """First frames of shots that are the reverse of the one before: who is said to look at the other there is looked back at."""
    people = [c.name for c in readings.cast.characters] if readings.cast else []
    return {
        cut.first
        for cut in cuts_of(readings)
        for one in people
        for other in looks_at(readings, one, cut.before) & set(people)
        if one in looks_at(readings, other, cut.after)
    }


def gaze_across(readings: Readings, limits: Limits) -> Iterator[Finding | NotMeasured]:
    """Findings faces_do_not_meet and unclear_point_of_view for every cut, and what the others need."""
    people = [c.name for c in readings.cast.characters] if readings.cast else list(dict.fromkeys(a.who for a in readings.acting))
    for cut in cuts_of(readings):
        ins = [who for who in people if visible(readings, who, cut.before)]
        outs = [who for who in people if visible(readings, who, cut.after)]
        for one in ins:
            for other in outs:
                if one != other and not (one in outs and other in ins):
                    yield from _meet(readings, cut, one, other, limits, alone=len(ins) == len(outs) == 1)
        if len(ins) == 1 and ins[0] not in outs:
            yield from _answered(readings, cut, ins[0], outs, limits)


def _meet(readings: Readings, cut: Cut, one: str, other: str, limits: Limits, *, alone: bool) -> Iterator[Finding | NotMeasured]:
    said = (looks_at(readings, one, cut.before), looks_at(readings, other, cut.after))
    told = other in said[0] and one in said[1]
    if not told and (not alone or said[0] or said[1]):
        return
    faces = face_at(readings, one, cut.before, last=True), face_at(readings, other, cut.after, last=False)
    if faces[0] is None or faces[1] is None:
        lacking = one if faces[0] is None else other
        yield NotMeasured("cut", lacking, EYES.format(cut=readings.numbering.shown(cut.first)))
        return
    found = _exact(readings, cut, faces[0], faces[1]) if faces[0].exact and faces[1].exact else _mirrored(faces[0], faces[1], limits)
    if found is not None and found[0].total - 2 * found[1] > limits["meet_deg"]:
        yield _finding(readings, cut, faces[0], faces[1], found, limits, told=told)


def _exact(readings: Readings, cut: Cut, one: Face, other: Face) -> tuple[Miss, float, bool] | None:
    """The worse of the two misses against the other's known place, as its own camera sees it; True where it is the second's."""
    misses = []
    for face, at in ((one, other), (other, one)):
        spots = target_of(readings, at.who)
        if spots is None or not np.isfinite(spots[0][face.frame]).all():
            return None
        way = spots[0][face.frame] - face.origin
        misses.append(miss(face.direction, way / np.linalg.norm(way)))
    worse = misses[1].total > misses[0].total
    return misses[worse], 0.0, worse


def _mirrored(one: Face, other: Face, limits: Limits) -> tuple[Miss, float, bool] | None:
    """How far the second look is from the mirror image of the first, as far as that is sure: a wrong side, or a height beyond the error bar.

    None for a point of view: one of them looks at the lens.
    """
    if any(np.hypot(f.azimuth, np.nan_to_num(f.elevation)) < CONE_OUTER_DEG + 2 * min(f.error_deg, 1.0) for f in (one, other)):
        return None
    sure = [abs(f.azimuth) - 2 * f.error_deg > limits["neutral_deg"] or f.by == "side of the face" for f in (one, other)]
    side = one.azimuth + other.azimuth
    own = float(np.hypot(one.error_deg, other.error_deg))
    wrong_side = all(sure) and one.azimuth * other.azimuth > 0
    unequal = abs(side) - 2 * float(np.hypot(own, ACROSS_CUT_SIDE_DEG)) > limits["meet_deg"]
    height, bar = one.elevation + other.elevation, float(np.hypot(own, ACROSS_CUT_DEG))
    high = bool(abs(height) - 2 * bar > limits["meet_deg"])
    if not (wrong_side or unequal or high):
        return None
    right, up = side if wrong_side or unequal else 0.0, height if high else 0.0
    # A wrong side is wrong whatever its size: the bar is that of the sides, which were sure above.
    error = 0.0 if wrong_side else own if high else float(np.hypot(own, ACROSS_CUT_SIDE_DEG))
    return Miss(float(np.hypot(right, up)), right, up, False), error, True


def _finding(
    readings: Readings, cut: Cut, one: Face, other: Face, found: tuple[Miss, float, bool], limits: Limits, *, told: bool
) -> Finding:
    gap, error, second = found
    exact = one.exact and other.exact
    who, partner = (other, one) if second else (one, other)
    at = readings.numbering.shown(cut.first)
    parts = [f"{abs(gap.right):.1f}° too far to screen {'right' if gap.right > 0 else 'left'}"] if abs(gap.right) >= 0.5 else []
    parts += [f"{abs(gap.up):.1f}° too {'high' if gap.up > 0 else 'low'}"] if abs(gap.up) >= 0.5 else []
    if not exact and one.azimuth * other.azimuth > 0 and abs(gap.right) >= 0.5:
        parts[0] = f"both look to screen {'right' if one.azimuth > 0 else 'left'}, {parts[0]} to meet"
    if_so = "" if told else "if they look at each other, "
    rests = (
        ""
        if exact
        else f" (by the {_by(one, other)}, assuming that both cameras stand and tilt alike{f'; give or take {2 * error:.1f}°' if error else ''})"
    )
    moves = [f"to screen {'left' if gap.right > 0 else 'right'}"] if abs(gap.right) >= 0.5 else []
    moves += ["down" if gap.up > 0 else "up"] if abs(gap.up) >= 0.5 else []
    or_else = "" if exact else f", or {partner.who} the other way; if it is a point of view, aim the look into the lens"
    return Finding(
        "cut", "faces_do_not_meet", who.who, Span(cut.first - 1, cut.first + 1), round(gap.total, 1), "degrees that the two looks miss each other",
        limits["meet_deg"], "polish", 0.9 if exact else 0.7 if told else 0.5,
        f"{if_so}{one.who} and {other.who} do not meet across the cut to {at}: {who.who}'s look is {' and '.join(parts)}{rests}",
        f"turn {who.who}'s eyes {' and '.join(moves)}{or_else}",
        MEET_BASIS, level=3 if exact else 2, strokes=tuple(s for f in (one, other) if (s := _stroke(readings, f)) is not None),
    )  # fmt: skip


def _by(one: Face, other: Face) -> str:
    return one.by if one.by == other.by else f"{one.by} and the {other.by}"


RAY = 0.3
"""Length of a drawn look, as a share of the picture's width (drawing only)."""


def _stroke(readings: Readings, face: Face) -> Stroke | None:
    """The look as it is, from between the eyes along its direction on the picture."""
    if not (np.isfinite(face.origin).all() and np.isfinite(face.direction).all()) or face.origin[2] <= 0:
        return None
    width, height = readings.movie.width or 1, readings.movie.height or 1
    start = project(face.origin, lens_of(readings, face.frame)) / (width, height)
    end = start + RAY * face.direction[:2] * np.array([1.0, width / height])
    return Stroke(face.frame, "is", ((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))), face.who)


def _answered(readings: Readings, cut: Cut, who: str, outs: list[str], limits: Limits) -> Iterator[Finding | NotMeasured]:
    """A look off screen, alone in its shot: does the next shot show a face that meets it, or what lies in its direction?"""
    face = face_at(readings, who, cut.before, last=True)
    if face is None or np.hypot(face.azimuth, np.nan_to_num(face.elevation)) < limits["neutral_deg"] + 2 * min(face.error_deg, 5.0):
        return
    names = looks_at(readings, who, cut.before)
    props = [p.name for p in readings.cast.props] if readings.cast else []
    shown_before = [n for n in (*names, *props) if n and n != "camera" and visible(readings, n, cut.before)]
    if shown_before or "camera" in names:
        return
    shown = [*outs, *(p for p in props if visible(readings, p, cut.after))]
    if any(name.partition(".")[0] in shown for name in names):
        return
    at = readings.numbering.shown(cut.first)
    if face.exact and readings.cameras:
        off = unanswered_deg(readings, face, cut.after.start)
        if off > limits["view_deg"]:
            yield _unclear(readings, cut, face, off, limits, 3)
    elif not shown:
        yield NotMeasured(
            "cut", who, f"a mark on who or what is seen from {at} on, or a scene with cameras, to tell whether {who}'s look is answered"
        )
    elif names:
        yield _unclear(readings, cut, face, abs(face.azimuth), limits, 2)


def _unclear(readings: Readings, cut: Cut, face: Face, off: float, limits: Limits, level: int) -> Finding:
    at = readings.numbering.shown(cut.first)
    side = (
        f"screen {'right' if face.azimuth > 0 else 'left'}"
        if abs(face.azimuth) > abs(face.elevation)
        else "up"
        if face.elevation > 0
        else "down"
    )
    how = f"passes all that the next picture shows by {off:.1f}°" if level == 3 else "is at something that the next shot does not show"
    stroke = _stroke(readings, face)
    return Finding(
        "cut", "unclear_point_of_view", face.who, Span(cut.first - 1, cut.first + 1), round(off, 1),
        "degrees by which the look passes what comes next" if level == 3 else "degrees off the lens", limits["view_deg"], "polish", 0.6 if level == 3 else 0.4,
        f"{face.who} looks off to {side}, and the shot from {at} on neither answers that look nor shows what it is at: it {how}",
        "cut to what is looked at, from where it is looked at, or turn the look to what comes next", VIEW_BASIS, level=3 if level == 3 else 2,
        strokes=(stroke,) if stroke else (),
    )  # fmt: skip
