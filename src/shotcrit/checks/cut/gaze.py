"""Gaze across a cut: two faces that should meet and do not (meeting.py), and a look off screen that the next shot does not answer."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.cut.faces import WINDOW, Face, face_at, visible
from shotcrit.checks.cut.meeting import MEET_BASIS, SIDE, Cut, Meeting, exact_miss, face_stroke, mirrored
from shotcrit.checks.cut.view import unanswered_deg
from shotcrit.checks.finding import Cause, Finding, Limit, NotMeasured
from shotcrit.checks.sure import about, as_sure
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.wanted import look_span
from shotcrit.readings.shots import shots_of

VIEW_BASIS = "Katz (1991, Film Directing Shot by Shot, second hand): a look off screen asks for what it is at; guess: the size, four times what is seen"
LIMITS = (
    Limit("meet_deg", 5.0, "degrees", MEET_BASIS, "How far two looks may miss each other across a cut."),
    Limit("neutral_deg", 6.0, "degrees", MEET_BASIS, "A look nearer to the lens than this has no side; a head-on shot may set a new one."),
    Limit("view_deg", 8.0, "degrees", VIEW_BASIS, "How far a look off screen may pass what the next shot shows."),
)
EYES = "marks for the eyes of who is on each side of the cut at {cut}, or a scene with cameras"


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
    """Findings faces_do_not_meet, crossed_line and unclear_point_of_view for every cut, and what the others need."""
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
    meeting = Meeting(readings, cut, faces[0], faces[1], told)
    yield from exact_miss(meeting, limits) if faces[0].exact and faces[1].exact else mirrored(meeting, limits)


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
    sideways = abs(face.azimuth) > abs(np.nan_to_num(face.elevation))
    way = f"to screen {'right' if face.azimuth > 0 else 'left'}" if sideways else "up" if face.elevation > 0 else "down"
    how = f"; the look passes all of it by {about(off, face.error_deg, 'degree')}" if level == 3 else ""
    stroke = face_stroke(readings, face)
    return Finding(
        "cut", "unclear_point_of_view", face.who, Span(cut.first - 1, cut.first + 1), as_sure(off, face.error_deg),
        "degrees by which the look passes what comes next" if level == 3 else "degrees off the lens", limits["view_deg"], "polish", 0.6 if level == 3 else 0.4,
        f"{face.who} looks off {way}, and the shot from {at} on shows neither what is there nor anyone who looks back{how}",
        "Cut to what is looked at, from where it is looked at, or turn the look to what comes next", VIEW_BASIS, level=3 if level == 3 else 2,
        strokes=(stroke,) if stroke else (), causes=(Cause(SIDE, face.who, cut.before),),
    )  # fmt: skip
