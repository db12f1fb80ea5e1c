"""What is seen: movement, dead frames and cuts; mouths; bodies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

import numpy as np

from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import kind_of
from shotcrit.clock import runs
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.seen import FadeKind
from shotcrit.readings.sound.articulation import wanted_mouth
from shotcrit.sheet.lanes.scales import Floats, full, swing
from shotcrit.sheet.model import Curve, Lane, Stretch, StretchKind

_UPPER = ("chest", "shoulder_left", "shoulder_right")
"""The chest tells a breath by itself; where it is not marked, the shoulders do."""
SPEAKS = 0.1
"""Pull of phones against rest above which the sound asks for a mouth (guess: below it, rest has all but taken over)."""


def picture_lane(picture: PictureReadings, findings: Sequence[Finding]) -> Lane:
    """Movement, dead frames counted, cuts, and where nobody acts."""
    told = frozenset(i for f in findings if kind_of(f.check, f.kind).draws == "still" for i in f.span)
    moves = Curve("picture.movement", full(picture.movement.values), f"{picture.movement.name}, {picture.movement.unit}")
    cuts = (Stretch(cut, cut, "cut", f"cut, shot {shot}", event=shot - 2) for shot, cut in enumerate(picture.cuts, start=2))
    return Lane("picture", None, (*_unacted(picture), *_dead(picture, told), *cuts), (moves,))


_FADES: dict[FadeKind, tuple[StretchKind, str]] = {
    "in": ("fade_in", "fade in"),
    "out": ("fade_out", "fade out"),
    "dissolve": ("dissolve", "dissolve"),
}


def _unacted(picture: PictureReadings) -> Iterator[Stretch]:
    """Black, cards and fades: what stands still there is no dead frame."""
    for span in picture.black:
        yield Stretch(span.start, span.stop, "black", "black")
    for span in picture.cards:
        yield Stretch(span.start, span.stop, "card", "card: nothing moves over a flat ground")
    for fade in picture.fades:
        kind, said = _FADES[fade.kind]
        yield Stretch(fade.span.start, fade.span.stop, kind, said)


def _dead(picture: PictureReadings, told: frozenset[int]) -> Iterator[Stretch]:
    """Dead frames run by run, parted where a finding begins or ends to speak of them; counted from the run's first."""
    for run in runs((picture.dead & picture.acted).tolist()):
        for known, rows in groupby(run, key=told.__contains__):
            own = list(rows)
            yield Stretch(own[0], own[-1] + 1, "dead_told" if known else "dead", count=own[0] - run.start + 1)


def mouth_lanes(readings: Readings) -> Iterator[Lane]:
    """One lane for each mouth that was seen, with what the sound asks of it; for a sound alone one lane of what it asks."""
    best = [readings.with_mouth(who) for who in dict.fromkeys(a.who for a in readings.acting)]
    seen = [(a.who, a.mouth.opening) for a in best if a is not None and a.mouth is not None]
    for who, opening in seen:
        yield Lane("mouth", who, (), (_wanted(readings, who), Curve("mouth.seen", full(opening))))
    if not seen and readings.picture is None and readings.sound is not None and readings.sound.phones:
        yield Lane("mouth", None, (), (_wanted(readings, None),))


def _wanted(readings: Readings, who: str | None) -> Curve:
    return Curve("mouth.wanted", full(wanted_opening(readings, who)))


def wanted_opening(readings: Readings, who: str | None) -> Floats:
    """The opening that the phones of `who` ask for (None: of everybody), 0..1; nan where nobody speaks."""
    sound = readings.sound or SoundReadings()
    speakers = [None if p.word is None else sound.words[p.word].who for p in sound.phones]
    own = [p for p, speaker in zip(sound.phones, speakers, strict=True) if who is None or speaker in (who, None)]
    starts = frame_starts(readings.clock)
    asked = wanted_mouth(own, starts)
    return np.where(asked.said >= SPEAKS, asked.opening, np.nan).astype(np.float32)


def body_lanes(readings: Readings) -> Iterator[Lane]:
    """How far each chest stands over its hips, against where it usually stands in that shot: up is to the right."""
    cuts = readings.picture.cuts if readings.picture else ()
    for actor in _actors(readings):
        lift = _lift(actor, (0, *cuts, len(readings.clock)))
        if lift is not None:
            yield Lane("body", actor.who, (), (Curve("body.lift", swing(lift)),))


def _lift(actor: Acting, edges: Sequence[int]) -> Floats | None:
    """Less each shot's own median, since another camera sees another chest; None without a mark that rises."""
    uppers = [actor.marks[name] for name in _UPPER if name in actor.marks]
    hips = actor.marks.get("hips")
    if not uppers:
        return None
    chest = np.mean([mark.xy[:, 1] for mark in uppers[:1] if mark.mark == "chest"] or [mark.xy[:, 1] for mark in uppers], axis=0)
    height = np.array((0 if hips is None else hips.xy[:, 1]) - chest, np.float32)
    for first, stop in pairwise(edges):
        known = height[first:stop][np.isfinite(height[first:stop])]
        height[first:stop] -= np.median(known) if len(known) else 0
    return height if np.isfinite(height).any() and np.nanmax(np.abs(height)) > 0 else None


def _actors(readings: Readings) -> Iterator[Acting]:
    """Each character or prop once, by what is known of it best."""
    for who in dict.fromkeys(a.who for a in readings.acting):
        actor = readings.actor(who)
        if actor is not None:
            yield actor
