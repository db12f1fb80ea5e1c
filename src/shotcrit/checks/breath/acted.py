"""Each audible breath against the body and the mouth, at the best level there is: kinds missing and timing; a smack with still lips."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from shotcrit.checks.breath.body import Lift, breath_lift, lift_series, lift_wanted, outline_error
from shotcrit.checks.finding import COMMON, Curve, Finding, Limit, NotMeasured, Weight
from shotcrit.checks.standing import standing
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Breath
from shotcrit.readings.frame_times import frame_starts

Array = npt.NDArray[np.float64]
Limits = Mapping[str, float]
Answer = Finding | NotMeasured

ID = "breath"
LIFT_BASIS = (
    "quiet breathing lifts the chest 3 to 5 mm, 1.5 to 2 % of a head (De Groote et al. 1997, J. Appl. Physiol. 83:1531-1537); "
    "guess: half a per cent is the least that is asked of an acted breath"
)
ACTED_LIMITS = (
    Limit(
        "lift",
        0.005,
        "of head height",
        LIFT_BASIS,
        "Lift of chest and shoulders that a heard breath asks for; under half of it the breath counts as not acted.",
    ),
    Limit(
        "mouth", 0.04, "of mouth width", "guess: 2 mm of a 50 mm mouth", "Opening on the way in that counts as a breath through the mouth."
    ),
    Limit("timing", 3.0, "frames", f"{COMMON}; guess: its size, an eighth of a second", "How far the lift may be off its sound."),
    Limit("smack", 0.02, "of mouth width", "guess: 1 mm of a 50 mm mouth", "Movement of the lips that a mouth noise needs."),
)
NEXT_WORD_S = 2.0
"""A breath in belongs to the one who speaks within this time after it, a breath out to the one who spoke before it (guess)."""
SMACK_S = 0.15
"""How far around a mouth noise the lips are watched, s (guess)."""
BODY = ("chest", "shoulder_left", "shoulder_right")


def acted_findings(readings: Readings, limits: Limits) -> Iterator[Answer]:
    """Judge every audible breath and mouth noise whose owner is known and has a body or a mouth."""
    for breath in readings.sound.breaths if readings.sound else ():
        actor = owner(readings, breath)
        if actor is None:
            continue
        if breath.kind == "smack":
            yield from _smack(readings, actor, breath, limits)
        elif lift_series(readings, actor) is not None:
            yield from _breath(readings, actor, breath, limits)


def owner(readings: Readings, breath: Breath) -> Acting | None:
    """Whose breath it is: as said, else the next (or last) speaker's, else the only one's who has a body."""
    who = breath.who or _speaker(readings, breath)
    if who is not None:
        return readings.actor(who)
    bodies = sorted({a.who for a in readings.acting if set(BODY) & set(a.marks)})
    return readings.actor(bodies[0]) if len(bodies) == 1 else None


def _speaker(readings: Readings, breath: Breath) -> str | None:
    words = readings.sound.words if readings.sound else ()
    if breath.kind == "inhale":
        near = [(w.start_s - breath.end_s, w.who) for w in words if w.start_s >= breath.end_s - 0.1]
    else:
        near = [(breath.start_s - w.end_s, w.who) for w in words if w.end_s <= breath.start_s + 0.1]
    gap, who = min(near, key=lambda pair: pair[0], default=(NEXT_WORD_S, None))
    return who if gap < NEXT_WORD_S else None


def _frames(readings: Readings, breath: Breath) -> Span | None:
    return readings.clock.frames(max(breath.start_s, 0.0), breath.end_s)


def seen_in(actor: Acting, span: Span) -> bool:
    """Whether chest or a shoulder is inside the picture over most of the span; at level 3 without cameras nobody can tell, and it is taken so."""
    tracks = [actor.marks[name] for name in BODY if name in actor.marks]
    if actor.level == 3 and not any(np.isfinite(track.xy).any() for track in tracks):
        return True
    inside = [float(_inside(track)[span.start : span.stop].mean()) for track in tracks]
    return max(inside, default=0.0) > 0.5


def _inside(track: MarkTrack) -> npt.NDArray[np.bool_]:
    """Frames on which a mark, or its outline, is followed and in the picture."""
    inside = np.all((track.xy >= 0) & (track.xy <= 1), axis=1)
    return inside if track.across is None else inside | ((track.across.y >= 0) & (track.across.y <= 1))


def _breath(readings: Readings, actor: Acting, breath: Breath, limits: Limits) -> Iterator[Answer]:
    span = _frames(readings, breath)
    if span is None:
        return
    at = readings.numbering.text(Span(span.start, span.start + 1))
    if not seen_in(actor, span):
        yield NotMeasured(ID, actor.who, f"{actor.who} in the picture while the breath at {at} is heard{another_spot(readings, actor)}")
        return
    series = lift_series(readings, actor)
    out = breath.kind == "exhale"
    lift = breath_lift(readings, actor, breath, -series if out and series is not None else series) if series is not None else None
    if series is None or lift is None:
        yield NotMeasured(ID, actor.who, f"chest or shoulders followed all through the breath at {at}{another_spot(readings, actor)}")
        return
    across = outline_error(readings, actor, span)
    lift = replace(lift, error=float(np.hypot(lift.error, across)))
    by_mouth = lift.mouth >= limits["mouth"] or (out and _is_open(readings, actor, breath, limits["mouth"]))
    # Midway between no lift at all and the least that is asked: there both mistakes are equally rare.
    little = lift.amount < limits["lift"] / 2
    if little and not by_mouth and 2 * lift.error >= limits["lift"]:
        yield NotMeasured(ID, actor.who, _steadier(readings, actor, at, lift))
    elif little and not by_mouth:
        yield _missing(readings, actor, breath, span, lift, series, limits)
    elif not out and lift.amount >= limits["lift"] and abs(lift.shift_frames) > limits["timing"]:
        yield _timing(readings, actor, span, lift, series, limits)


def _steadier(readings: Readings, actor: Acting, at: str, lift: Lift) -> str:
    unsure = f"(now ±{200 * lift.error:.1f} % of the head)"
    return f"steadier marks on chest and shoulders to see the breath at {at} {unsure}{another_spot(readings, actor)}"


def _is_open(readings: Readings, actor: Acting, breath: Breath, least: float) -> bool:
    """Whether the mouth is open at all while the breath goes out."""
    if actor.mouth is None:
        return False
    starts = frame_starts(readings.clock)
    during = np.asarray(actor.mouth.opening, np.float64)[(starts >= breath.start_s - 0.05) & (starts <= breath.end_s + 0.05)]
    return bool(np.isfinite(during).any() and float(np.nanmax(during)) >= least)


def _missing(readings: Readings, actor: Acting, breath: Breath, span: Span, lift: Lift, series: Array, limits: Limits) -> Finding:
    known = np.isfinite(lift.mouth)
    assumed = _by_outline(readings, actor, span, lift)
    weight: Weight = "must" if known and breath.kind == "inhale" and not assumed else "polish"
    sure = min(0.9 if known else 0.7, 0.6 if assumed else 1.0) * breath.confidence
    move = "lift chest and shoulders with it" if breath.kind == "inhale" else "let chest and shoulders sink"
    return Finding(
        check=ID, kind="missing", who=actor.who, span=span, value=round(100 * max(lift.amount, 0.0), 2), unit="% of head height that the body lifts",
        limit=round(100 * limits["lift"], 2), weight=weight, confidence=round(sure, 2),
        says=_heard_not_seen(actor.who, breath, readings.numbering.shown(span.start), known=known) + assumed,
        suggest=f"Open the mouth over {_ahead(readings, span)}, {move}{_let_go(readings, actor.who, breath)}",
        basis=LIFT_BASIS, level=actor.level, curves=(lift_curve(readings, breath, span, series, limits["lift"]),),
        causes=standing(readings, actor.who, span),
    )  # fmt: skip


def _heard_not_seen(who: str, breath: Breath, at: int, *, known: bool) -> str:
    """known : whether the mouth was seen too"""
    way = "in" if breath.kind == "inhale" else "out"
    unseen = "we don't see it" if known else "chest and shoulders don't show it (the mouth is not known)"
    return f"We hear {who} breathe {way} at {at}; {unseen}"


def _by_outline(readings: Readings, actor: Acting, span: Span, lift: Lift) -> str:
    """How surely, where only an outline is followed: that it is the body's own, and no edge behind it, is an assumption."""
    if not outline_error(readings, actor, span):
        return ""
    return f" (as far as the outline beside the mark is the body's own, ±{200 * lift.error:.1f} % of the head)"


def another_spot(readings: Readings, actor: Acting) -> str:
    """A spot near chest or shoulder that can be followed, as a person would point it out; nothing where none is known."""
    for mark in BODY:
        track = actor.marks.get(mark)
        if track is None or track.instead is None or track.instead.index not in track.placed:
            continue
        width, height = readings.movie.width or 1, readings.movie.height or 1
        spot, old = track.instead, track.xy[track.instead.index]
        where = _from_there((spot.x - float(old[0])) * width, (spot.y - float(old[1])) * height)
        return f"; for {mark} try the spot {where} it, frame {readings.numbering.shown(spot.index)}"
    return ""


def _from_there(right_px: float, down_px: float) -> str:
    """Such as '14 px below and 9 px to screen left of'."""
    across, down = round(abs(right_px)), round(abs(down_px))
    side = f"{across} px to screen {'right' if right_px > 0 else 'left'} of"
    if not down:
        return side
    upright = f"{down} px {'below' if down_px > 0 else 'above'}"
    return f"{upright} and {side}" if across else upright


def _ahead(readings: Readings, span: Span) -> str:
    """From two frames before the sound to where it is full: the mouth must be open when the air goes in."""
    return readings.numbering.text(Span(max(0, span.start - 2), max(span.start + 1, (span.start + span.stop) // 2)))


def _let_go(readings: Readings, who: str, breath: Breath) -> str:
    """The word that the air goes out on: the next one of the same voice."""
    words = readings.sound.words if readings.sound else ()
    after = [w for w in words if w.who in (None, who) and w.start_s >= breath.end_s - 0.1]
    first = min(after, key=lambda w: w.start_s, default=None)
    return f", let it out on “{first.text}”" if first is not None and breath.kind == "inhale" else ""


def _timing(readings: Readings, actor: Acting, span: Span, lift: Lift, series: Array, limits: Limits) -> Finding:
    late = lift.shift_frames
    side = "late" if late > 0 else "early"
    at = readings.numbering.text(Span(span.start, span.start + 1))
    breath = Breath("inhale", float(frame_starts(readings.clock)[span.start]), float(frame_starts(readings.clock)[span.last]), 0.0)
    return Finding(
        check=ID, kind="timing", who=actor.who, span=span, value=late, unit="frames, + when the body comes late", limit=limits["timing"], weight="polish",
        confidence=0.7, says=f"{actor.who}'s chest lifts {counted(abs(late), 'frame')} {side} for the breath at {at}",
        suggest=f"Move the lift of chest and shoulders {counted(abs(late), 'frame')} {'earlier' if late > 0 else 'later'}", basis=ACTED_LIMITS[2].basis,
        level=actor.level, curves=(lift_curve(readings, breath, span, series, limits["lift"]),),
    )  # fmt: skip


def lift_curve(readings: Readings, breath: Breath, span: Span, series: Array, least: float) -> Curve:
    """Seen lift, its slow part taken out, against the least that is asked; % of head height, half a second around."""
    around = round(float(readings.clock.rate) / 2)
    first, stop = max(0, span.start - around), min(len(series), span.stop + around)
    index = np.arange(first, stop)
    seen = series[first:stop]
    known = np.isfinite(seen)
    if known.sum() > 3:
        seen = seen - np.polyval(np.polyfit(index[known] - first, seen[known], 1), index - first)
        seen = seen - np.nanmin(seen)
    wanted = lift_wanted(readings, breath)[first:stop] * least
    return Curve("lift", "% of head height", first, tuple(map(float, 100 * seen)), tuple(map(float, 100 * wanted)))


def _smack(readings: Readings, actor: Acting, breath: Breath, limits: Limits) -> Iterator[Answer]:
    """A mouth noise whose lips do not stir; a mouth that was found by itself is no witness of so little."""
    span = _frames(readings, breath)
    if span is None or actor.mouth is None or actor.level < 2:
        return
    starts = frame_starts(readings.clock)
    near = (starts >= breath.start_s - SMACK_S) & (starts <= breath.end_s + SMACK_S)
    opening, width = (np.asarray(series, np.float64)[near] for series in (actor.mouth.opening, actor.mouth.width))
    if not np.isfinite(opening).all() or len(opening) < 3:
        return
    moved = float(max(np.ptp(opening), np.ptp(width[np.isfinite(width)]) if np.isfinite(width).any() else 0.0))
    noise = 2 * float(np.nan_to_num(np.nanmedian(np.asarray(actor.mouth.opening_error, np.float64)[near])))
    if moved >= limits["smack"] + noise:
        return
    at = readings.numbering.text(Span(span.start, span.start + 1))
    yield Finding(
        check=ID, kind="smack", who=actor.who, span=span, value=round(moved, 3), unit="of mouth width that the lips move", limit=limits["smack"],
        weight="polish", confidence=round(0.7 * breath.confidence, 2), says=f"We hear {actor.who}'s lips part at {at}; they stay still",
        suggest=f"Part the lips at {at}; a small pull of one corner is enough", basis=ACTED_LIMITS[3].basis, level=actor.level,
        causes=standing(readings, actor.who, span),
    )  # fmt: skip
