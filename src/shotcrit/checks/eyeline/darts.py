"""Darts: how long an eye takes from one rest to the next, against the main sequence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from shotcrit.checks.finding import Finding
from shotcrit.clock import Span, runs
from shotcrit.counted import counted
from shotcrit.geometry.gaze import angle_deg
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import eyes_of
from shotcrit.readings.shots import shots_of

DART_BASIS = (
    "a saccade of A degrees lasts 2.2 A + 21 ms (Carpenter 1988, Movements of the Eyes, second hand); "
    "main sequence (Bahill, Clark & Stark 1975, Math. Biosci. 24:191-204)"
)
MS_A_DEGREE, MS_FIXED = 2.2, 21.0
LONGEST_DEG = 40.0
"""Beyond this eyes do not turn alone (mean reach about 36 degrees, Stahl 1999, from memory): a head turn, not judged here."""
FOLLOW_DEG_A_FRAME = 0.9
"""Turn a frame below which eyes are resting or following something slowly (guess)."""


def saccade_ms(amplitude_deg: float) -> float:
    """Duration of a dart by the main sequence, ms."""
    return MS_A_DEGREE * amplitude_deg + MS_FIXED


def dart_findings(readings: Readings, limits: Mapping[str, float]) -> Iterator[Finding]:
    """Darts that float. Only where the gaze is known well enough for single frames (error below half a degree a frame)."""
    seen: set[str] = set()
    for actor in sorted(readings.acting, key=lambda a: -a.level):
        if actor.who in seen or not actor.gaze:
            continue
        seen.add(actor.who)
        for shot in shots_of(readings):
            yield from _darts(readings, actor, shot, limits)


def _darts(readings: Readings, actor: Acting, shot: Span, limits: Mapping[str, float]) -> Iterator[Finding]:
    eyes = eyes_of(readings, actor)
    if eyes is None or len(shot) < 4:
        return
    direction = eyes.direction[shot.start : shot.stop]
    error = eyes.error_deg[shot.start : shot.stop]
    turn = np.concatenate([[0.0], np.nan_to_num(angle_deg(direction[1:], direction[:-1]), nan=0.0)])
    moving = turn > FOLLOW_DEG_A_FRAME + 2 * np.nan_to_num(error)
    for span in runs(moving):
        before, after = direction[span.start - 1], direction[span.last]
        size = float(angle_deg(before, after)) if np.isfinite([before, after]).all() else float("nan")
        if not limits["dart_least_deg"] <= size <= LONGEST_DEG or _head_turns(actor, shot, span):
            continue
        allowed = saccade_ms(size) * float(readings.clock.rate) / 1000 + limits["dart_spare_frames"]
        if len(span) <= allowed:
            continue
        where = Span(shot.start + span.start, shot.start + span.stop)
        yield Finding(
            check="eyeline", kind="dart", who=actor.who, span=where, value=len(span), unit="frames", limit=round(allowed, 1), weight="polish",
            confidence=0.7,
            says=f"{actor.who}'s eyes float over {readings.numbering.text(where)}: {counted(len(span), 'frame')} for a turn of {counted(size, 'degree')}",
            suggest="Take the dart in one or two frames, then hold", basis=DART_BASIS, level=actor.level,
        )  # fmt: skip


def _head_turns(actor: Acting, shot: Span, span: Span) -> bool:
    """Whether the head carries the eyes along: then the gaze moves with it, and may take its time."""
    if actor.head is None:
        return False
    facing = np.asarray(actor.head.direction[shot.start + span.start - 1 : shot.start + span.stop], np.float64)
    if not np.isfinite(facing).all() or len(facing) < 2:
        return False
    return float(angle_deg(facing[0], facing[-1])) > 2.0
