"""What a body owes to a whole line: a chest that never moves over it (still_chest), a shaking voice that nothing carries (tremor)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt

from shotcrit.checks.breath.acted import ID, seen_in
from shotcrit.checks.breath.body import SWAY_POWERS, head_height, lift_series, outline_error
from shotcrit.checks.finding import Finding, Limit
from shotcrit.checks.standing import standing
from shotcrit.clock import Span
from shotcrit.counted import times
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Tremor
from shotcrit.readings.shots import shots_of

Array = npt.NDArray[np.float64]
Limits = Mapping[str, float]

STILL_BASIS = (
    "a breath group lasts 3.5 s (Rochet-Capellan & Fuchs 2013, Interspeech, 2014-2018), so that a longer line empties and fills the chest; "
    "guess: the least lift, a tenth of quiet breathing's"
)
LINE_LIMITS = (
    Limit("still_line", 3.5, "s", STILL_BASIS, "Length of talk from which on a chest must move."),
    Limit("still_lift", 0.002, "of head height", STILL_BASIS, "Movement below which a chest stands still."),
    Limit("tremor", 0.001, "of head height", "guess: 0.2 px of a head of 200 px", "Shake of any part that carries a shaking voice."),
)
PAUSE_S = 0.75
"""A pause up to this keeps a line together (guess)."""
SMOOTH_S = 0.3
"""Running mean that keeps marks' noise out of the chest's movement, s (guess)."""
MOST_ACROSS_PX = 0.5
"""px; a chest known by an outline that leaves more than this open is not called still (guess)."""
OUTLINED = " (as far as the outline beside the mark is the body's own)"
SHAKE_HZ = 1.0
"""How far the body's shake may be off the voice's rate, Hz (guess)."""
FEWEST = 8
"""Frames that a shake is measured over, at least: a third of a second at 24."""


def line_findings(readings: Readings, limits: Limits) -> Iterator[Finding]:
    """still_chest and tremor of everybody with a body."""
    for who in dict.fromkeys(a.who for a in readings.acting):
        actor = readings.actor(who)
        if actor is not None:
            yield from _still(readings, actor, limits)
    for tremor in readings.sound.tremors if readings.sound else ():
        yield from _tremor(readings, tremor, limits)


def _talk(readings: Readings, who: str) -> Iterator[Span]:
    """Stretches in which somebody talks with short pauses only, within one shot."""
    words = sorted((w for w in (readings.sound.words if readings.sound else ()) if w.who == who), key=lambda w: w.start_s)
    groups: list[list[float]] = []
    for word in words:
        if groups and word.start_s - groups[-1][1] <= PAUSE_S:
            groups[-1][1] = max(groups[-1][1], word.end_s)
        else:
            groups.append([word.start_s, word.end_s])
    for start, end in groups:
        whole = readings.clock.frames(max(start, 0.0), end)
        for shot in shots_of(readings) if whole is not None else ():
            part = whole.overlap(shot) if whole is not None else None
            if part is not None:
                yield part


def _still(readings: Readings, actor: Acting, limits: Limits) -> Iterator[Finding]:
    series = lift_series(readings, actor)
    rate = float(readings.clock.rate)
    for span in _talk(readings, actor.who) if series is not None else ():
        if series is None or len(span) < limits["still_line"] * rate or not seen_in(actor, span):
            continue
        part = series[span.start : span.stop]
        known = np.isfinite(part)
        if known.mean() < 0.9:
            continue
        across = outline_error(readings, actor, span)
        if across * head_height(readings, actor) > MOST_ACROSS_PX:
            continue
        told = OUTLINED if across else ""
        moved = _range(part[known], max(3, round(SMOOTH_S * rate)))
        if moved >= limits["still_lift"]:
            continue
        yield Finding(
            check=ID, kind="still_chest", who=actor.who, span=span, value=round(100 * moved, 2), unit="% of head height that chest and shoulders move",
            limit=round(100 * limits["still_lift"], 2), weight="polish", confidence=0.6 if across else 0.7,
            says=f"{actor.who} talks for {len(span) / rate:.0f} seconds, {readings.numbering.text(span)}, and the chest never moves{told}",
            suggest="Let the chest sink as the air is used up, and fill it before the next phrase", basis=STILL_BASIS, level=actor.level,
            causes=standing(readings, actor.who, span),
        )  # fmt: skip


def _range(values: Array, width: int) -> float:
    """From the lowest to the highest of the running mean, the ends without a full window left out."""
    if len(values) < width:
        return float(np.ptp(values))
    return float(np.ptp(np.convolve(values, np.ones(width) / width, "valid")))


def _tremor(readings: Readings, tremor: Tremor, limits: Limits) -> Iterator[Finding]:
    span = readings.clock.frames(max(tremor.start_s, 0.0), tremor.end_s)
    actor = _shaken(readings, tremor)
    if span is None or actor is None or len(span) < FEWEST or tremor.rate_hz >= float(readings.clock.rate) / 2 - SHAKE_HZ:
        return
    head = head_height(readings, actor)
    shakes = [s for track in actor.marks.values() if (s := _shake(readings, track, span, tremor.rate_hz)) is not None]
    if not shakes:
        return
    most = max(amount / head - 2 * error / head for amount, error in shakes)
    doubt = 2 * max(error for _, error in shakes) / head
    if most >= limits["tremor"] or doubt >= 4 * limits["tremor"]:
        return
    yield Finding(
        check=ID, kind="tremor", who=actor.who, span=span, value=round(100 * max(most, 0.0), 2), unit="% of head height that any part shakes",
        limit=round(100 * limits["tremor"], 2), weight="polish", confidence=0.5,
        says=f"{actor.who}'s voice shakes at {readings.numbering.text(span)}, {times(tremor.rate_hz)} a second; nothing in the body does",
        suggest="Let chin, shoulders or hands carry a little of it", basis=LINE_LIMITS[2].basis, level=actor.level,
    )  # fmt: skip


def _shaken(readings: Readings, tremor: Tremor) -> Acting | None:
    """Whose voice shakes: who speaks there, else the only one with marks."""
    words = readings.sound.words if readings.sound else ()
    spoken = [w.who for w in words if w.start_s < tremor.end_s and w.end_s > tremor.start_s and w.who is not None]
    names = spoken or sorted({a.who for a in readings.acting if a.head is not None or "chest" in a.marks})
    return readings.actor(names[0]) if len(set(names)) == 1 else None


def _shake(readings: Readings, track: MarkTrack, span: Span, rate_hz: float) -> tuple[float, float] | None:
    """Amplitude and its standard error of a mark's shake near a rate, in head_height's unit; a polynomial takes the slow movement."""
    if track.world is not None:
        path = np.asarray(track.world, np.float64)[span.start : span.stop]
    else:
        path = np.asarray(track.xy, np.float64)[span.start : span.stop] * (readings.movie.width or 1, readings.movie.height or 1)
    if not np.isfinite(path).all():
        return None
    t = np.arange(len(path)) / float(readings.clock.rate)
    t = (t - t.mean()) / float(np.ptp(t))
    slow = np.stack([t**power for power in range(min(SWAY_POWERS, len(t) - 3))], axis=1)
    t = np.arange(len(path)) / float(readings.clock.rate)
    best = (0.0, 0.0)
    for hertz in np.linspace(rate_hz - SHAKE_HZ, rate_hz + SHAKE_HZ, 5):
        swing = np.stack([np.cos(2 * np.pi * hertz * t), np.sin(2 * np.pi * hertz * t)], axis=1)
        table = np.concatenate([slow, swing], axis=1)
        answer = np.linalg.lstsq(table, path, rcond=None)[0]
        left = float(((path - table @ answer) ** 2).sum(axis=0).max()) / max(1, len(t) - table.shape[1])
        amount = float(np.hypot(answer[-2], answer[-1]).max())
        if amount > best[0]:
            best = amount, float(np.sqrt(2 * left / len(t)))
    return best
