"""contact: what is held or stood on must not slide, the last frames before a cut above all. Levels 2 and 3, with contacts in the cast."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Needs
from shotcrit.checks.contact.seen import seen_px
from shotcrit.checks.contact.shapes import REACH, grouped, happened
from shotcrit.checks.contact.turning import BEFORE, Away, away_from_hold
from shotcrit.checks.finding import COMMON, Curve, Finding, Limit, NotMeasured, Result, Stroke, Weight
from shotcrit.checks.parts import words_of
from shotcrit.checks.sure import beyond
from shotcrit.clock import Span, runs
from shotcrit.counted import counted
from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Contact
from shotcrit.readings.shots import shots_of

Array = npt.NDArray[np.float64]
Limits = Mapping[str, float]

ID = "contact"
TOO_UNSURE = 6.0
"""Times the limit; where only a slide from here on could be told just before a cut, that is said (guess: 6 px of 1920 are seen by anybody)."""
ROUND = 5.0
"""From here on a slide is told in whole mm or px."""
HALF_SEEN = 2
"""Frames at either end of a sight within a shot that are not judged: as many as it may take until a mark is said to be lost (issue: within 2)."""
TITLE = "Contacts"
HELP = "How far what is held or stood on slides on what holds it, opens or sinks in; the last frames before a cut with special care."
NAME = "contact"
VERSION = 3
COLUMN: Column = "body"
KINDS = (
    Kind("slide", "slide"),
    Kind("before_cut", "before cut"),
    Kind("opens", "opens"),
    Kind("sinks", "sinks"),
)
NEEDS = Needs(("pictures", "cast"), contacts=True)
FOOT_BASIS = (
    "feet that slide less than 21 mm are noticed in most conditions (Prazak, Hoyet & O'Sullivan 2011, doi:10.2312/SCA/SCA11/287-294)"
)
LIMITS = (
    Limit(
        "slide_px",
        1.0,
        "px of the full-size frame",
        f"{COMMON}: a step of two pixels between neighbours is seen",
        "Slide allowed as the picture shows it: at level 2, and at level 3 where cameras are known.",
    ),
    Limit(
        "slide_mm",
        3.0,
        "mm",
        f"guess: a seventh of what is surely seen; {FOOT_BASIS}",
        "Slide allowed in a scene, however small the picture shows it.",
    ),
    Limit("must_mm", 21.0, "mm", FOOT_BASIS, "From here on a slide holds the shot back."),
    Limit("must_share", 0.006, "of the picture's width", "guess: 12 px of 1920", "The same for a slide in px."),
    Limit("cut_frames", 4, "frames", COMMON, "How many frames before a cut are looked at with special care."),
    Limit(
        "errors", 3.0, "standard errors", "guess: one false alarm in some hundred frames", "How far beyond its own error a slide must lie."
    ),
)


@dataclass(frozen=True)
class _Held:
    """A contact in one shot.

    gap : float64 [shape=(n, d)] where a is as b sees it, over the contact's frames; px at level 2, mm at level 3
    turn : float64 [shape=(n, 3, 3)] what carries a gap in mm to the world's axes; None where it is in them
    error : float64 [shape=(n,)] same unit, of each frame by itself; slow : float64 [shape=(n, k)] errors that change only as the things turn
    """

    contact: Contact
    span: Span
    level: int
    unit: str
    gap: Array
    error: Array
    slow: Array
    a: MarkTrack
    b: MarkTrack
    turn: Array | None = None


def run(readings: Readings, limits: Limits) -> Result:
    """Judge every contact of the cast in every shot that it lies in."""
    contacts = readings.cast.contacts if readings.cast else ()
    findings: list[Finding] = []
    missing: dict[str, NotMeasured] = {}
    for contact in contacts:
        pair = _tracks(readings, contact)
        if pair is None:
            owner = contact.a.partition(".")[0]
            lost = "".join(dict.fromkeys(readings.lost_nodes(name.partition(".")[0]) for name in (contact.a, contact.b)))
            missing[contact.a + contact.b] = NotMeasured(ID, owner, f"marks or scene nodes for both {contact.a} and {contact.b}{lost}")
            continue
        seen = list(_held(readings, contact, *pair))
        told = [one for held in seen for one in _slides(readings, held, limits)]
        findings += [one for one in told if isinstance(one, Finding)]
        unsure = [one for one in told if isinstance(one, NotMeasured)]
        for one in (*unsure, *_lost_before_cuts(readings, contact, pair, seen)):
            missing[one.needs] = one
    if not contacts:
        missing[""] = NotMeasured(ID, None, "contacts in the cast: what is held or stood on, from frame to frame")
    return Result(tuple(findings), tuple(missing.values()))


def _tracks(readings: Readings, contact: Contact) -> tuple[MarkTrack, MarkTrack] | None:
    """Both marks at the best level that has both."""
    for level in (3, 2):
        pair = [_track(readings, name, level) for name in (contact.a, contact.b)]
        if pair[0] is not None and pair[1] is not None:
            return pair[0], pair[1]
    return None


def _track(readings: Readings, name: str, level: int) -> MarkTrack | None:
    who, _, mark = name.partition(".")
    actor = readings.actor(who, level=level)
    return actor.marks.get(mark) if actor else None


def _held(readings: Readings, contact: Contact, a: MarkTrack, b: MarkTrack) -> Iterator[_Held]:
    first, last = contact.first - readings.movie.first_frame, contact.last - readings.movie.first_frame
    if last < 0 or first >= len(readings.clock):
        return
    whole = Span(max(0, first), min(len(readings.clock), last + 1))
    for shot in shots_of(readings):
        span = shot.overlap(whole)
        if span is None or len(span) < 2:
            continue
        if a.world is not None and b.world is not None:
            gap, turn = _gap_mm(a, b, span)
            yield _Held(contact, span, 3, "mm", gap, np.zeros(len(span)), np.zeros((len(span), 0)), a, b, turn)
        else:
            for part in _in_sight(a, b, span):
                yield _Held(contact, part, 2, "px", _gap_px(readings, a, b, part), *_errors_px(a, b, part), a, b)


def _in_sight(a: MarkTrack, b: MarkTrack, span: Span) -> Iterator[Span]:
    """The stretches of `span` over which both marks are seen without a break.

    A mark that comes back into sight is followed from another frame on which a person placed it, up to a px off the first: between stretches no slide can
    be told from that.
    """
    seen = np.asarray(np.isfinite(np.hstack((a.xy, b.xy))).all(axis=1))
    for part in runs(seen[span.start : span.stop]):
        first = part.start + (HALF_SEEN if part.start else 0)
        stop = part.stop - (HALF_SEEN if part.stop < len(span) else 0)
        if stop - first >= 2:
            yield Span(span.start + first, span.start + stop)


def _gap_mm(a: MarkTrack, b: MarkTrack, span: Span) -> tuple[Array, Array | None]:
    """a against b in whichever of the two turns with the contact: a held thing is still in the hand's frame, a planted foot in the ground's."""
    cut = slice(span.start, span.stop)
    gap = 1000 * (np.asarray(a.world, np.float64)[cut] - np.asarray(b.world, np.float64)[cut])
    turns = [None, *(np.asarray(t.turn, np.float64)[cut] for t in (a, b) if t.turn is not None)]
    seen = [(gap if turn is None else np.einsum("nji,nj->ni", turn, gap), turn) for turn in turns]
    return min(seen, key=lambda g: float(np.median(np.linalg.norm(g[0] - np.median(g[0], axis=0), axis=1))))


def _gap_px(readings: Readings, a: MarkTrack, b: MarkTrack, span: Span) -> Array:
    size = np.array([readings.movie.width or 1, readings.movie.height or 1], np.float64)
    cut = slice(span.start, span.stop)
    return (np.asarray(a.xy, np.float64)[cut] - np.asarray(b.xy, np.float64)[cut]) * size


def _errors_px(a: MarkTrack, b: MarkTrack, span: Span) -> tuple[Array, Array]:
    """(error of each frame by itself [shape=(n,)], slow errors of both marks [shape=(n, 2)]), px."""
    cut = slice(span.start, span.stop)
    total = np.stack([np.asarray(t.error_px, np.float64)[cut] for t in (a, b)], axis=1)
    noise = np.stack([np.asarray(t.quick_error_px, np.float64)[cut] for t in (a, b)], axis=1)
    return np.hypot(noise[:, 0], noise[:, 1]), np.sqrt(np.maximum(total**2 - noise**2, 0))


def _lost_before_cuts(
    readings: Readings, contact: Contact, pair: tuple[MarkTrack, MarkTrack], seen: Sequence[_Held]
) -> Iterator[NotMeasured]:
    """Shots over whose last frames the contact goes on and could not be followed: nothing is passed in silence."""
    if pair[0].world is not None and pair[1].world is not None:
        return
    first, last = contact.first - readings.movie.first_frame, contact.last - readings.movie.first_frame
    for shot in shots_of(readings):
        goes_on = first < shot.stop <= last + 1
        if not goes_on or any(held.span.stop == shot.stop for held in seen):
            continue
        until = [held.span.stop for held in seen if shot.overlap(held.span) is not None]
        at = readings.numbering.shown(shot.last)
        lost = f"they are lost from {readings.numbering.shown(max(until))} on" if until else "neither stretch of them is known in that shot"
        yield NotMeasured(
            ID, contact.a.partition(".")[0],
            f"marks on {words_of(contact.a)} and {words_of(contact.b)} up to the last frame of the shot, {at} ({lost}), where both are in the picture",
        )  # fmt: skip


def _slides(readings: Readings, held: _Held, limits: Limits) -> Iterator[Finding | NotMeasured]:
    """Stretches in which the gap lies away from where it is held; just before a cut against the frames before that."""
    limit = limits["slide_mm"] if held.level == 3 else limits["slide_px"]
    known = np.asarray(np.isfinite(held.gap).all(axis=1), bool)
    if known.sum() < 2:
        return
    tail = min(int(limits["cut_frames"]), len(held.span) - 2)
    is_cut = held.span.stop in {shot.stop for shot in shots_of(readings)}
    if held.level == 3:
        yield from _slides_mm(readings, held, known, tail if is_cut else 0, limits)
        return
    found = away_from_hold(held.gap, held.error, held.slow, tail if is_cut else 0, limit / 2)
    away, doubt = found.px, found.doubt
    error = np.hypot(np.nan_to_num(held.error), np.nan_to_num(found.slow))
    least = limit + limits["errors"] * error + doubt
    if is_cut and tail:
        # Just before a cut a slide has to be sure to be one, and beyond the limit by its own error; else 2 px of it slip through.
        least[-tail:] = np.maximum(limit + error[-tail:], limits["errors"] * error[-tail:]) + doubt[-tail:]
    off = list(runs(known & (np.nan_to_num(away) > least)))
    at_cut = [span for span in off if is_cut and span.stop > len(away) - found.tail]
    for span in at_cut:
        yield _slide(readings, held, span, away, limit, limits)
    before = [span for span in off if span not in at_cut]
    yield from _in_mid_shot(readings, held, found, _apart_from(before, at_cut), limits)
    if is_cut and tail and (found.unclear or least[-1] > TOO_UNSURE * limit):
        yield _undecided(readings, held, found.unclear, float(least[-1]))


def _apart_from(off: list[Span], at_cut: list[Span]) -> list[Span]:
    """What happens in mid-shot, each thing once: what goes on into the cut is told there."""
    first = min((span.start for span in at_cut), default=None)
    return [group for group in grouped(off) if first is None or first - group.stop > REACH]


def _in_mid_shot(readings: Readings, held: _Held, found: Away, groups: list[Span], limits: Limits) -> Iterator[Finding | NotMeasured]:
    """Each thing that a gap of the picture does in mid-shot, told where no turn does the same."""
    limit, error = limits["slide_px"], float(np.nanmedian(held.error))
    known = np.asarray(np.isfinite(held.gap).all(axis=1), bool)
    turns = found.way.round and "hand" in held.contact.a.partition(".")[2]
    unclear: list[Span] = []
    for group in groups:
        one = happened(found.way.flat, known, group, error, still=found.still)
        if one is None and found.still:
            yield _slide(readings, held, group, found.px, limit, limits)
        elif one is None or (turns and not (one.explained and (one.sharp or beyond(one.along, limit, one.error, bars=limits["errors"])))):
            unclear.append(group)
        else:
            px = np.linalg.norm(held.gap - found.way.back(found.way.flat - one.off), axis=1)
            if float(px[one.span.start : one.span.stop].max()) > limit:
                yield _slide(readings, held, one.span, px, limit, limits)
    if unclear:
        where = ", ".join(readings.numbering.text(Span(held.span.start + span.start, held.span.start + span.stop)) for span in unclear)
        a, b = words_of(held.contact.a), words_of(held.contact.b)
        yield NotMeasured(ID, held.contact.a.partition(".")[0], f"your own eye on {b} in {a} at {where}: it may slide there or turn")


def _undecided(readings: Readings, held: _Held, unclear: bool, least: float) -> NotMeasured:
    """What the last frames before a cut need where the picture cannot tell a slide from a turn."""
    a, b, at = words_of(held.contact.a), words_of(held.contact.b), readings.numbering.shown(held.span.last)
    why = (
        "it leaves its way as a turn does too"
        if unclear
        else f"they turn so fast there that only a slide of {counted(round(least), 'px', 'px')} would be seen"
    )
    return NotMeasured(ID, held.contact.a.partition(".")[0], f"your own eye on {b} in {a} before the cut after {at}: {why}")


def _slides_mm(readings: Readings, held: _Held, known: npt.NDArray[np.bool_], tail: int, limits: Limits) -> Iterator[Finding]:
    """Of a scene: what is too far in mm; and in what is left, what the picture shows of a slide that is small by itself."""
    slip = _held_at(held, known, tail) - held.gap
    away = np.linalg.norm(slip, axis=1)
    seen = np.nan_to_num(seen_px(readings, held.b, held.span, -slip, held.turn))
    far = known & (away > limits["slide_mm"])
    for span in runs(far):
        yield _slide(readings, held, span, away, limits["slide_mm"], limits, seen)
    for span in runs(known & (seen > limits["slide_px"])):
        if not far[span.start : span.stop].any():
            yield _slide(readings, replace(held, unit="px"), span, seen, limits["slide_px"], limits)


def _held_at(held: _Held, known: npt.NDArray[np.bool_], tail: int) -> Array:
    """Where the gap is held, mm: its median; over a cut's tail the median of the frames before it. [shape=(n, 3)]"""
    rest = np.repeat(np.median(held.gap[known], axis=0)[None], len(held.gap), axis=0)
    before = held.gap[: len(held.gap) - tail][known[: len(held.gap) - tail]][-BEFORE:]
    if tail and len(before):
        rest[-tail:] = np.median(before, axis=0)
    return rest


def _slide(readings: Readings, held: _Held, span: Span, away: Array, limit: float, limits: Limits, seen: Array | None = None) -> Finding:
    """seen : px of the same slide, where `away` is in mm"""
    at_cut = held.span.stop in {shot.stop for shot in shots_of(readings)} and span.stop >= len(held.span) - 1
    where = Span(held.span.start + span.start, held.span.start + span.stop)
    most = span.start + int(np.nanargmax(away[span.start : span.stop]))
    value = float(away[most])
    kind = "before_cut" if at_cut else _kind(held, most)
    width = readings.movie.width or 1
    must = limits["must_mm"] if held.unit == "mm" else limits["must_share"] * width
    plain = value >= 2 * limit or (seen is not None and float(seen[span.start : span.stop].max()) >= 2 * limits["slide_px"])
    weight: Weight = "must" if value >= must or (at_cut and plain) else "polish"
    shown_px = f" ({counted(round(float(seen[most])), 'px', 'px')})" if seen is not None and seen[most] >= 1 else ""
    amount = f"{counted(value, held.unit, held.unit, digits=0 if value >= ROUND else 1)}{shown_px}"
    place = ", into the cut" if at_cut else f" at {readings.numbering.text(where)}"
    return Finding(
        check=ID, kind=kind, who=held.contact.a.partition(".")[0], span=where, value=round(value, 2), unit=held.unit, limit=limit, weight=weight,
        confidence=0.95 if held.level == 3 else round(float(np.clip(0.5 + 0.1 * (value - limit) / max(float(held.error[most]), 0.1), 0.5, 0.95)), 2),
        says=f"{_what_happens(held.contact, kind, amount)}{place}",
        suggest="Lock the contact through the last frame, and look at it once past the cut" if at_cut else "Lock the contact there",
        basis=LIMITS[1].basis if held.unit == "mm" else LIMITS[0].basis, level=3 if held.level == 3 else 2,
        curves=(Curve("slide", held.unit, held.span.start, tuple(map(float, away))),), strokes=_strokes(readings, held, most),
    )  # fmt: skip


def _what_happens(contact: Contact, kind: str, amount: str) -> str:
    """'The lantern's handle slips 23 mm in Bram's right hand'; a planted foot slips on what it stands on."""
    holder, thing = words_of(contact.a), words_of(contact.b)
    holds = "hand" in contact.a.partition(".")[2]
    said = {"opens": f"comes {amount} away from {holder}", "sinks": f"sinks {amount} into {holder}"}
    return f"{thing} {said.get(kind, f'slips {amount} in {holder}')}" if holds else f"{holder} {_standing(kind, amount, thing)}"


def _standing(kind: str, amount: str, ground: str) -> str:
    return {"opens": f"lifts {amount} off {ground}", "sinks": f"sinks {amount} into {ground}"}.get(kind, f"slides {amount} on {ground}")


def _kind(held: _Held, index: int) -> str:
    """'opens' or 'sinks' at level 3 where the two move along the line between them, else 'slide'."""
    rest = np.median(held.gap[np.isfinite(held.gap).all(axis=1)], axis=0)
    move, length = held.gap[index] - rest, float(np.linalg.norm(rest))
    if held.level != 3 or length < 1.0:
        return "slide"
    along = float(np.dot(move, rest) / length)
    if abs(along) < 0.8 * float(np.linalg.norm(move)):
        return "slide"
    return "opens" if along > 0 else "sinks"


def _strokes(readings: Readings, held: _Held, index: int) -> tuple[Stroke, ...]:
    """The slip as a vector: from where b should be to where it is."""
    frame = held.span.start + index
    width, height = readings.movie.width or 1, readings.movie.height or 1
    size = np.array([width, height], np.float64)
    gap = (np.asarray(held.a.xy, np.float64) - np.asarray(held.b.xy, np.float64))[held.span.start : held.span.stop]
    known = gap[np.isfinite(gap).all(axis=1)]
    is_at = np.asarray(held.b.xy[frame], np.float64)
    if not len(known) or not np.isfinite(is_at).all() or not np.isfinite(held.a.xy[frame]).all():
        return ()
    should = np.asarray(held.a.xy[frame], np.float64) - np.median(known, axis=0)
    moved = float(np.linalg.norm((is_at - should) * size))
    ends = (tuple(map(float, should)), tuple(map(float, is_at)))
    return (Stroke(frame, "slip", ((ends[0][0], ends[0][1]), (ends[1][0], ends[1][1])), f"{moved:.1f} px"),)
