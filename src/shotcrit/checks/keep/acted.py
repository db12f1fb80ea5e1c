"""Eye lines that hold over a cut, and breaths that the body acts."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.breath.acted import owner, seen_in
from shotcrit.checks.breath.body import breath_lift, lift_series, lift_wanted
from shotcrit.checks.cut.faces import Face, face_at
from shotcrit.checks.cut.gaze import cuts_of, looks_at
from shotcrit.checks.cut.meeting import Meeting
from shotcrit.checks.finding import Curve
from shotcrit.checks.keep.good import Good
from shotcrit.checks.sure import BAR
from shotcrit.clock import Span
from shotcrit.geometry.gaze import miss
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import target_of


def eye_lines(readings: Readings, limits: Limits) -> Iterator[Good]:
    """Two who are said to look at each other across a cut, and do, both, by a scene."""
    people = [person.name for person in readings.cast.characters] if readings.cast else []
    for cut in cuts_of(readings):
        for one in people:
            for other in looks_at(readings, one, cut.before) & set(people):
                if one not in looks_at(readings, other, cut.after):
                    continue
                faces = face_at(readings, one, cut.before, last=True), face_at(readings, other, cut.after, last=False)
                off = _worse(readings, *faces)
                if off is not None and off < limits["meet_deg"] and faces[0] is not None and faces[1] is not None:
                    yield Good(
                        "eyeline", one, cut.span, round(off, 1), "degrees that the two looks miss each other", "meet_deg",
                        f"{one} and {other} meet each other's eyes across the cut to {readings.numbering.shown(cut.first)}", 3, 0.9, -off,
                        strokes=Meeting(readings, cut, faces[0], faces[1], True).strokes(),
                    )  # fmt: skip


def _worse(readings: Readings, one: Face | None, other: Face | None) -> float | None:
    """Degrees by which the worse of two looks misses the other's eyes; None where a scene does not tell, or both look to one side: over the line, nobody
    sees that they meet."""
    if one is None or other is None or not (one.exact and other.exact) or one.side_deg * other.side_deg >= 0:
        return None
    misses = []
    for face, at in ((one, other), (other, one)):
        spots = target_of(readings, at.who)
        if spots is None or not np.isfinite(spots[0][face.frame]).all():
            return None
        way = spots[0][face.frame] - face.origin
        misses.append(miss(face.direction, way / np.linalg.norm(way)).total)
    return max(misses)


def breaths(readings: Readings, limits: Limits) -> Iterator[Good]:
    """Heard breaths that chest and shoulders take, on their sound."""
    for breath in readings.sound.breaths if readings.sound else ():
        span = readings.clock.frames(max(breath.start_s, 0.0), breath.end_s) if breath.kind == "inhale" else None
        actor = owner(readings, breath) if span is not None else None
        if span is None or actor is None or not seen_in(actor, span):
            continue
        series = lift_series(readings, actor)
        lift = breath_lift(readings, actor, breath, series) if series is not None else None
        if series is None or lift is None or abs(lift.shift_frames) > 1 or lift.amount - BAR * lift.error < limits["lift"]:
            continue
        cut = slice(max(0, span.start - 12), min(len(series), span.stop + 12))
        wanted = lift_wanted(readings, breath)[cut] * 100 * lift.amount
        seen = 100 * (series[cut] - np.nanmedian(series[cut]))
        yield Good(
            "breath", actor.who, span, round(lift.amount, 3), "of head height that chest and shoulders rise", "lift",
            f"{actor.who}'s breath at {readings.numbering.text(Span(span.start, span.start + 1))} is acted: chest and shoulders rise on it, "
            f"by {100 * lift.amount:.1f} % of the head",
            actor.level, 0.85 if actor.level == 3 else 0.7, lift.amount,
            curves=(Curve("lift of chest and shoulders", "% of head height", cut.start, tuple(map(float, seen)), tuple(map(float, wanted))),),
        )  # fmt: skip
