"""What stands on the upright sheet, in rows: one row a frame, positions in frames and parts of frames from the first picture.

Knows nothing of paper or screen; the drawing of both starts here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from shotcrit.checks.finding import Finding, pair_of
from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import column_of, kind_of
from shotcrit.clock import FrameClock, Numbering
from shotcrit.counted import real
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.events import Look
from shotcrit.readings.sound.articulation import wanted_mouth
from shotcrit.sheet import plain

Floats = npt.NDArray[np.float32]
FULL_PERCENTILE = 99.0
"""A curve is full at this percentile, so that one wild frame does not flatten the rest (guess)."""


SPEAKS = 0.1
"""Pull of phones against rest above which the sound asks for a mouth (guess: below it, rest has all but taken over)."""
UNSURE = 0.5
"""Below this confidence a word is drawn broken (guess: more likely wrong than right)."""


@dataclass(frozen=True)
class Stretch:
    """Something that lasts from row position start to stop. `sure` False is drawn broken."""

    start: float
    stop: float
    text: str
    kind: str = ""
    who: str | None = None
    sure: bool = True


@dataclass(frozen=True)
class Lane:
    """One character's curve. seen, wanted : float32 [shape=(n_frames,)], 0..1 of the lane's width; nan where not known."""

    who: str | None
    seen: Floats
    wanted: Floats


@dataclass(frozen=True)
class Gaze:
    """One look, over whole rows first..last.

    meets : False when a finding says that it misses
    contact : who is looked at looks back, and neither misses
    proposed : read from the eyes, not said by the cast
    """

    first: int
    last: int
    at: str
    meets: bool
    contact: bool = False
    proposed: bool = False


@dataclass(frozen=True)
class EyeLane:
    """One character's looks and blinks; blinks as (first, shut, last) rows."""

    who: str
    looks: tuple[Gaze, ...]
    blinks: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True)
class Bracket:
    """A finding beside its rows first..last. number: its place in the list; lane: 0 nearest the frame numbers."""

    number: int
    first: int
    last: int
    lane: int
    weight: Literal["must", "polish", "keep"]
    label: str
    says: str


@dataclass(frozen=True)
class Sheet:
    """The whole sheet.

    dead : bool [shape=(n_frames,)] or None without pictures; movement : float32 [shape=(n_frames,)] 0..1, nan unknown
    wave : float32 [shape=(n_frames, k, 2)] least and greatest, -1..1; empty without sound
    accents : (row position, rank)
    held : rows that a finding on holds covers
    heads : what stands over the brackets, and over the empty column
    """

    title: str
    clock: FrameClock
    numbering: Numbering
    people: tuple[str, ...]
    dead: npt.NDArray[np.bool_] | None
    movement: Floats
    cuts: tuple[int, ...]
    wave: Floats
    words: tuple[Stretch, ...]
    phones: tuple[Stretch, ...]
    air: tuple[Stretch, ...]
    accents: tuple[tuple[float, int], ...]
    mouths: tuple[Lane, ...]
    eyes: tuple[EyeLane, ...]
    bodies: tuple[Lane, ...]
    found: tuple[Bracket, ...]
    held: frozenset[int] = frozenset()
    heads: tuple[str, str] = ("found", "notes")

    @property
    def frames(self) -> int:
        return len(self.clock)


def build_sheet(measured: Measured) -> Sheet:
    """Lay everything measured out in rows. Pure."""
    readings = measured.readings
    sound = readings.sound or SoundReadings()
    pictures = readings.picture
    empty = np.zeros(0, np.float32)
    return Sheet(
        title=shot_title(readings.movie.name),
        clock=readings.clock,
        numbering=readings.numbering,
        people=people(readings),
        dead=None if pictures is None else pictures.repeats,
        movement=empty if pictures is None else _full(pictures.movement.values),
        cuts=() if pictures is None else pictures.cuts,
        wave=_wave(sound.wave),
        words=tuple(_words(sound, readings.clock)),
        phones=tuple(_phones(sound, readings.clock)),
        air=tuple(_air(sound, readings.clock)),
        accents=tuple((readings.clock.position(a.time_s), a.rank) for a in sound.accents),
        mouths=_mouths(measured),
        eyes=_eyes(measured),
        bodies=_bodies(measured),
        found=brackets(measured.findings),
        held=frozenset(i for f in measured.findings if kind_of(f.check, f.kind).draws == "still" for i in f.span),
    )


def shot_title(name: str) -> str:
    """The movie's name without its ending: 'Lantern 040.mov' -> 'Lantern 040'."""
    stem, dot, ending = name.rpartition(".")
    return stem if dot and stem and ending.isalnum() and len(ending) <= 5 else name


def people(readings: Readings) -> tuple[str, ...]:
    """Who is in the shot: the cast, then whoever the lines give words to, each once."""
    cast = [c.name for c in readings.cast.characters] if readings.cast else []
    speakers = [line.who for line in readings.sound.lines if line.who] if readings.sound else []
    return tuple(dict.fromkeys([*cast, *speakers]))


def brackets(findings: Iterable[Finding]) -> tuple[Bracket, ...]:
    """Findings numbered in their order."""
    return side_by_side(
        Bracket(number, f.span.start, f.span.last, 0, f.weight, f"{plain.title(f)}: {plain.short_value(f)}", f.says)
        for number, f in enumerate(findings, start=1)
    )


def side_by_side(wanted: Iterable[Bracket]) -> tuple[Bracket, ...]:
    """Brackets put beside each other where they overlap, each as near the numbers as it can stand."""
    ends: list[int] = []
    placed = []
    for bracket in sorted(wanted, key=lambda b: (b.first, -b.last, b.number)):
        lane = next((i for i, end in enumerate(ends) if end < bracket.first), len(ends))
        ends[lane : lane + 1] = [bracket.last]
        placed.append(replace(bracket, lane=lane))
    return tuple(placed)


def _full(values: Floats) -> Floats:
    """Values as a part of their own height, 0..1."""
    known = values[np.isfinite(values)]
    top = float(np.percentile(known, FULL_PERCENTILE)) if len(known) else 0.0
    return np.clip(values / top, 0, 1).astype(np.float32) if top > 0 else np.where(np.isfinite(values), 0, values).astype(np.float32)


def _wave(wave: Floats) -> Floats:
    """The wave at the height of its own loudest sample."""
    top = float(np.nanmax(np.abs(wave))) if wave.size else 0.0
    return (wave / top if top > 0 else wave).astype(np.float32)


def _words(sound: SoundReadings, clock: FrameClock) -> Iterator[Stretch]:
    """Each word; `kind` 'first' where a line begins."""
    line = None
    for word in sound.words:
        kind = "first" if word.line != line else ""
        line = word.line
        sure = word.confidence >= UNSURE
        yield Stretch(clock.position(word.start_s), clock.position(word.end_s), word.text, kind, word.who, sure)


def _phones(sound: SoundReadings, clock: FrameClock) -> Iterator[Stretch]:
    for phone in sound.phones:
        kind = "stressed" if phone.stress == 1 else ""
        yield Stretch(clock.position(phone.start_s), clock.position(phone.end_s), phone.phone, kind)


_AIR = {"inhale": "in", "exhale": "out", "smack": "smack"}


def _air(sound: SoundReadings, clock: FrameClock) -> Iterator[Stretch]:
    for breath in sound.breaths:
        yield Stretch(clock.position(breath.start_s), clock.position(breath.end_s), _AIR[breath.kind], breath.kind, breath.who)
    for shake in sound.tremors:
        yield Stretch(clock.position(shake.start_s), clock.position(shake.end_s), f"shake {real(shake.rate_hz)} Hz", "tremor")


def _mouths(measured: Measured) -> tuple[Lane, ...]:
    """One lane for each mouth that was seen, with what the sound asks of it; for a sound alone one lane of what it asks."""
    readings = measured.readings
    actors = [readings.actor(who) for who in _acting_people(readings)]
    seen = [(a.who, np.array(a.mouth.opening, np.float32)) for a in actors if a is not None and a.mouth is not None]
    if not seen and readings.picture is None and readings.sound is not None and readings.sound.phones:
        unseen = np.full(len(readings.clock), np.nan, np.float32)
        return (_lane(None, unseen, wanted_opening(readings, None)),)
    return tuple(_lane(who, opening, wanted_opening(readings, who)) for who, opening in seen)


def wanted_opening(readings: Readings, who: str | None) -> Floats:
    """The opening that the phones of `who` ask for (None: of everybody), 0..1; nan where nobody speaks."""
    sound = readings.sound or SoundReadings()
    speakers = [None if p.word is None else sound.words[p.word].who for p in sound.phones]
    own = [p for p, speaker in zip(sound.phones, speakers, strict=True) if who is None or speaker in (who, None)]
    starts = np.array([float(edge) for edge in readings.clock.edges[:-1]])
    asked = wanted_mouth(own, starts)
    return np.where(asked.said >= SPEAKS, asked.opening, np.nan).astype(np.float32)


def _bodies(measured: Measured) -> tuple[Lane, ...]:
    readings = measured.readings
    lanes = []
    for who in _acting_people(readings):
        actor = readings.actor(who)
        lift = None if actor is None else _lift(actor)
        if lift is not None:
            lanes.append(Lane(who, lift, np.full(len(lift), np.nan, np.float32)))
    return tuple(lanes) or _lanes_from_curves(measured, "body")


def _lift(actor: Acting) -> Floats | None:
    """How high the chest stands over the hips, 0..1 between its own least and greatest; None without the mark."""
    chest, hips = actor.marks.get("chest"), actor.marks.get("hips")
    if chest is None:
        return None
    height = -chest.xy[:, 1] + (hips.xy[:, 1] if hips is not None else 0)
    known = height[np.isfinite(height)]
    if not len(known) or known.max() <= known.min():
        return None
    return ((height - known.min()) / (known.max() - known.min())).astype(np.float32)


def _acting_people(readings: Readings) -> tuple[str, ...]:
    return tuple(dict.fromkeys(a.who for a in readings.acting))


def _lane(who: str | None, seen: Floats, wanted: Floats) -> Lane:
    """Each curve at its own full height: the seen is parts of this mouth's width, the wanted of any mouth's."""
    return Lane(who, _full(seen), _full(wanted))


def _curves(measured: Measured, who: str | None, column: str, *, wanted: bool) -> Floats:
    """The findings' own curves put back on their rows; nan elsewhere."""
    rows = np.full(len(measured.readings.clock), np.nan, np.float32)
    for finding in measured.findings:
        if column_of(finding.check) == column and finding.who == who and finding.curves:
            curve = finding.curves[0]
            values = curve.wanted if wanted else curve.seen
            first = max(curve.first, 0)
            part = np.array(values[first - curve.first :][: max(0, len(rows) - first)], np.float32)
            rows[first : first + len(part)] = part
    return rows


def _lanes_from_curves(measured: Measured, column: str) -> tuple[Lane, ...]:
    owners = dict.fromkeys(f.who for f in measured.findings if column_of(f.check) == column and f.curves)
    return tuple(_lane(who, *(_curves(measured, who, column, wanted=w) for w in (False, True))) for who in owners)


def _eyes(measured: Measured) -> tuple[EyeLane, ...]:
    readings = measured.readings
    owners = dict.fromkeys([k.who for k in readings.looks] + [b.who for b in readings.blinks])
    return tuple(
        EyeLane(
            who,
            tuple(g for look in readings.looks if look.who == who for g in _gazes(look, readings.looks, measured.findings)),
            tuple((b.first, b.shut, b.last) for b in readings.blinks if b.who == who),
        )
        for who in owners
    )


def _gazes(look: Look, looks: Sequence[Look], findings: tuple[Finding, ...]) -> Iterator[Gaze]:
    """A look cut into stretches: of eye contact, of a look alone, of one that a finding says misses."""
    rows = range(look.first, look.last + 1)
    backs = [k for k in looks if k.who == look.at and k.at == look.who]

    def state(i: int) -> tuple[bool, bool]:
        meets = not _missed(look, i, findings)
        return meets, meets and any(k.first <= i <= k.last and not _missed(k, i, findings) for k in backs)

    states = [state(i) for i in rows]
    start = 0
    for i in range(1, len(states) + 1):
        if i == len(states) or states[i] != states[start]:
            yield Gaze(rows[start], rows[i - 1], look.at, *states[start], proposed=look.proposed)
            start = i


def _missed(look: Look, row: int, findings: tuple[Finding, ...]) -> bool:
    """Whether a finding says that the look misses: one about its owner, or about its owner and whom they look at."""
    about = {look.who, pair_of(look.who, look.at), pair_of(look.at, look.who)}
    return any(kind_of(f.check, f.kind).draws == "miss" and f.who in about and row in f.span for f in findings)
