"""Hand-made corrections put over a measurement, so that they survive the next one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from shotcrit.crit.records import BreathValue, Correction, CutValue, PhoneValue, WordValue
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings
from shotcrit.readings.events import Breath, Phone, Word
from shotcrit.readings.looks.propose import looks_of

SAME_SHARE = 0.3
"""Two stretches of time are the same event when they share this part of the shorter one (guess: new alignments move edges)."""
CUT_REACH = 2
"""Frames by which a new measurement may move a cut and it still be the same (guess)."""
CENTRE = 0.5

E = TypeVar("E", Word, Phone, Breath)


@dataclass(frozen=True)
class Corrected(Generic[E]):
    """An event, and the id of the correction that gave it, if one did."""

    event: E
    by: str | None = None


@dataclass(frozen=True)
class CorrectedCut:
    frame: int
    by: str | None = None


def words(measured: Sequence[Word], corrections: Iterable[Correction]) -> list[Corrected[Word]]:
    """The measured words with the corrections put over them, by time."""
    return _over(
        measured, _only(corrections, "word"), _word, lambda w, was: isinstance(was, WordValue) and w.text.lower() == was.text.lower()
    )


def phones(measured: Sequence[Phone], corrections: Iterable[Correction], said: Sequence[Word]) -> list[Corrected[Phone]]:
    """The measured phones with the corrections, by time; each belongs to the corrected word in `said` that holds its middle."""
    found = _over(measured, _only(corrections, "phone"), _phone, lambda p, was: isinstance(was, PhoneValue) and p.phone == was.phone)
    return [replace(c, event=replace(c.event, word=_word_at(said, CENTRE * (c.event.start_s + c.event.end_s)))) for c in found]


def breaths(measured: Sequence[Breath], corrections: Iterable[Correction]) -> list[Corrected[Breath]]:
    """The measured breaths with the corrections, by time."""
    return _over(measured, _only(corrections, "breath"), _breath, lambda b, was: isinstance(was, BreathValue) and b.kind == was.kind)


def cuts(measured: Sequence[int], corrections: Iterable[Correction]) -> list[CorrectedCut]:
    """The measured cuts with the corrections, in order; no cut twice."""
    left = {frame: CorrectedCut(frame) for frame in measured}
    added: dict[int, CorrectedCut] = {}
    for c in _only(corrections, "cut"):
        if isinstance(c.was, CutValue):
            near = sorted((abs(frame - c.was.frame), frame) for frame in left)
            if near and near[0][0] <= CUT_REACH:
                left.pop(near[0][1])
        if isinstance(c.now, CutValue):
            added[c.now.frame] = CorrectedCut(c.now.frame, c.id)
    return [both[1] for both in sorted({**left, **added}.items())]


def corrected_readings(readings: Readings, corrections: Sequence[Correction]) -> Readings:
    """The readings as the checks should see them after the reviewer's corrections."""
    if not corrections:
        return readings
    sound, picture = readings.sound, readings.picture
    frames = len(readings.clock)
    mended = replace(
        readings,
        sound=None if sound is None else corrected_sound(sound, corrections),
        picture=None if picture is None else _corrected_picture(picture, corrections, frames),
    )
    # No look runs over a cut, so that a moved cut may move the proposed ones.
    return replace(mended, looks=looks_of(mended)) if _only(corrections, "cut") and readings.looks else mended


def corrected_sound(sound: SoundReadings, corrections: Sequence[Correction]) -> SoundReadings:
    said = [c.event for c in words(sound.words, corrections)]
    return replace(
        sound,
        words=tuple(said),
        phones=tuple(c.event for c in phones(sound.phones, corrections, said)),
        breaths=tuple(c.event for c in breaths(sound.breaths, corrections)),
    )


def _corrected_picture(picture: PictureReadings, corrections: Sequence[Correction], frames: int) -> PictureReadings:
    return replace(picture, cuts=tuple(c.frame for c in cuts(picture.cuts, corrections) if 0 < c.frame < frames))


def _only(corrections: Iterable[Correction], event: str) -> list[Correction]:
    return [c for c in corrections if c.event == event]


def _over(
    measured: Sequence[E],
    corrections: list[Correction],
    build: Callable[[Correction, E | None], E | None],
    alike: Callable[[E, object], bool],
) -> list[Corrected[E]]:
    """Each correction takes the place of the one measured event that it is about, or stands by itself."""
    left: list[E] = list(measured)
    fixed: list[Corrected[E]] = []
    for c in corrections:
        target = _target(left, c, alike)
        if target is not None:
            left.remove(target)
        event = build(c, target)
        if event is not None:
            fixed.append(Corrected(event, c.id))
    fixed.extend(Corrected(e) for e in left)
    return sorted(fixed, key=lambda c: (c.event.start_s, c.event.end_s))


def _target(left: list[E], correction: Correction, alike: Callable[[E, object], bool]) -> E | None:
    """The measured event that a correction replaces: the one that shares most of its time, one with the same label before others."""
    was = correction.was
    if was is None or isinstance(was, CutValue):
        return None
    ranked = [(alike(e, was), _share(e.start_s, e.end_s, was.start_s, was.end_s), -i, e) for i, e in enumerate(left)]
    best = max((r for r in ranked if r[1] >= SAME_SHARE), key=lambda r: r[:3], default=None)
    return None if best is None else best[3]


def _share(a0: float, a1: float, b0: float, b1: float) -> float:
    """The common time of two stretches over the shorter one, 0..1."""
    common = min(a1, b1) - max(a0, b0)
    shorter = min(a1 - a0, b1 - b0)
    return max(0.0, common / shorter) if shorter > 0 else 0.0


def _word(c: Correction, old: Word | None) -> Word | None:
    if not isinstance(c.now, WordValue):
        return None
    return Word(c.now.text, c.now.who, c.now.start_s, c.now.end_s, confidence=1.0, line=old.line if old else 0)


def _phone(c: Correction, old: Phone | None) -> Phone | None:
    if not isinstance(c.now, PhoneValue):
        return None
    return Phone(c.now.phone, c.now.stress, old.word if old else None, c.now.start_s, c.now.end_s)


def _breath(c: Correction, old: Breath | None) -> Breath | None:
    if not isinstance(c.now, BreathValue):
        return None
    level = old.level_db if old else 0.0
    return Breath(c.now.kind, c.now.start_s, c.now.end_s, level, confidence=1.0, who=c.now.who)


def _word_at(said: Sequence[Word], time_s: float) -> int | None:
    return next((i for i, w in enumerate(said) if w.start_s <= time_s < w.end_s), None)
