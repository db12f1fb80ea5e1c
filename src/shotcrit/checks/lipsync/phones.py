"""Single phones that ask for something of the lips and did not get it: closure, teeth_on_lip, round, spread, jaw.

Each is looked for where the mouth would be in time: the line's own offset is taken out first, so that a late mouth is one finding, not
twenty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from shotcrit.checks.finding import COMMON, Curve, Finding
from shotcrit.checks.sure import beyond
from shotcrit.clock import Span
from shotcrit.readings.acting import Acting, Mouth
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Phone
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.sound.articulation import articulations
from shotcrit.readings.speech import Speech, word_text

Array = npt.NDArray[np.float64]
Limits = Mapping[str, float]

CLOSURE_BASIS = (
    f"{COMMON}; lips hold a p, b or m shut for 57 +- 24 ms, so one closed frame at 24 fps "
    "(Crystal & House 1988, J. Phonetics 16:285-294, second hand)"
)
SPREAD_BASIS = f"{COMMON}; n, t, d and l are made by the tongue (IPA Handbook 1999, Cambridge Univ. Press, from memory)"
ROUND_BASIS = (
    "w narrows the corners by 11.9 % of neutral (King & Ferragne 2020, doi:10.1016/j.wocn.2020.100978, second hand); "
    "oo and w are noticed most (Animator 1983, no. 6, animatormag.com, second hand)"
)
JAW_BASIS = "openness of vowels is jaw position (Lindblom & Sundberg 1971, JASA 50:1166-1179); guess: the share of the line's own range"
TEETH_BASIS = f"{COMMON}; f and v are lower lip to upper teeth (IPA Handbook 1999, Cambridge Univ. Press, from memory)"
OPENING_ERROR, WIDTH_ERROR, DROP_ERROR = 0.005, 0.01, 0.025
"""No error is taken for smaller: of the mouth's width, of the line's usual width, of the line's widest opening (guess: half a mm of a 50 mm mouth)."""
ROUND_BARS = 0.69
"""Standard errors of a rounding. A width's error is half of what its two readings differ by, 5 to 9 % on drawn and rendered mouths whose clean w, oo and oh got
9 to 21 % narrower and whose planted ones none or wider: with two errors no rounding would be told there, with this none of the clean ones is."""
CERTAIN = 1 - 1e-9
"""What no certainty goes beyond; 13 standard errors."""
SLOPE = 0.8
"""The hyperbolic tangent of so many standard errors stands for the normal distribution, within 0.02."""
TONGUE_PHONES = frozenset({"N", "T", "D", "L"})


@dataclass(frozen=True)
class Heard:
    """A line with the mouth that goes with it. shift: the line's own offset in frames; reach: the mouth's open end (95th percentile)
    in it."""

    readings: Readings
    speech: Speech
    actor: Acting
    mouth: Mouth
    shift: float
    reach: float
    rest_width: float

    @property
    def who(self) -> str:
        return self.actor.who

    def frames(self, phone: Phone, *, around: float = 0.0) -> npt.NDArray[np.int64]:
        """Frame indices whose picture goes with the phone, `around` frames more each way; at least one."""
        rate = float(self.readings.clock.rate)
        starts = frame_starts(self.readings.clock) - self.shift / rate
        inside = np.flatnonzero((starts >= phone.start_s - around / rate) & (starts < phone.end_s + around / rate))
        if len(inside):
            return inside
        return np.array([int(np.argmin(np.abs(starts - (phone.start_s + phone.end_s) / 2)))])


@dataclass(frozen=True)
class Missed:
    """How far a mouth is from what a phone asks of it. value : what is told; by : past the limit, + where it misses; error : of it, same unit; frame : where

    bars : standard errors that it must lie past its limit, where that does not follow from how sure a finding must be
    """

    value: float
    by: float
    error: float
    frame: int
    bars: float | None = None

    def surely(self, limits: Limits) -> bool:
        """Past the limit, and the error bar does not reach back to it."""
        bars = float(np.arctanh(np.clip(2 * limits["sure"] - 1, -CERTAIN, CERTAIN))) / SLOPE if self.bars is None else self.bars
        return self.by > 0 and beyond(self.by, 0.0, self.error, bars=bars)

    def perhaps(self, limits: Limits) -> bool:
        """Past the limit, and nobody can tell."""
        return self.by > 0 and not self.surely(limits)

    @property
    def confidence(self) -> float:
        """How sure it is past the limit: the normal distribution's 0.5 .. 1."""
        return float(0.5 * (1 + np.tanh(SLOPE * self.by / self.error)))


def phone_findings(heard: Heard, limits: Limits) -> Iterator[Finding]:
    """All of them: closures, pulled corners, then the others in the order of the line."""
    tests: tuple[Callable[[Heard, Phone, Limits], Finding | None], ...] = (_teeth, _round, _jaw)
    yield from _closures(heard, limits)
    yield from _spreads(heard, limits)
    for phone in heard.speech.phones:
        for test in tests:
            found = test(heard, phone, limits)
            if found is not None:
                yield found


def closures(heard: Heard) -> Iterator[Sequence[Phone]]:
    """The m, b and p of a line; neighbouring ones ('some pale') are one."""
    table = articulations()
    group: list[Phone] = []
    for phone in (*heard.speech.phones, None):
        if phone is not None and table.get(phone.phone) is not None and table[phone.phone].meets:
            if group and phone.start_s - group[-1].end_s > 0.02:
                yield group
                group = []
            group.append(phone)
        elif group:
            yield group
            group = []


def closing(heard: Heard, group: Sequence[Phone], limits: Limits) -> Missed | None:
    """How far lips stay apart that should meet within a frame of a closure; None where they are not known or seen to meet."""
    window = heard.frames(_whole(group), around=limits["closure_window"])
    opening = heard.mouth.opening[window]
    if not np.isfinite(opening).any() or _known(np.nanmax(heard.mouth.meets[window])) >= 0.5:
        return None
    least = int(window[int(np.nanargmin(opening))])
    gap = float(heard.mouth.opening[least])
    return Missed(gap, gap - _touch(heard, limits), max(_known(heard.mouth.opening_error[least]), OPENING_ERROR), least)


def _whole(group: Sequence[Phone]) -> Phone:
    return Phone(group[0].phone, None, group[0].word, group[0].start_s, group[-1].end_s)


def _touch(heard: Heard, limits: Limits) -> float:
    return max(limits["lips_meet"], limits["lips_meet_share"] * heard.reach)


def _closures(heard: Heard, limits: Limits) -> Iterator[Finding]:
    """An m, b or p whose lips never meet within a frame of it."""
    for group in closures(heard):
        missed = closing(heard, group, limits)
        if missed is not None and missed.surely(limits):
            yield _closure(heard, group, missed, limits)


def _closure(heard: Heard, group: Sequence[Phone], missed: Missed, limits: Limits) -> Finding:
    whole, touch, gap = _whole(group), _touch(heard, limits), missed.value
    least, sure = missed.frame, missed.confidence
    own = heard.frames(whole)
    return _finding(
        heard, whole, "closure", Span(int(own[0]), int(own[-1]) + 1), round(100 * gap / heard.reach), "% of the line's widest opening left open",
        round(100 * touch / heard.reach, 1), "must" if gap > 2 * touch else "polish", sure,
        f"{heard.who}'s lips don't {'' if gap > 2 * touch else 'quite '}close on the {_letters(group)} of {word_text(heard.readings, whole)}",
        f"Shut them for a frame at {heard.readings.numbering.shown(least)}, or for two", CLOSURE_BASIS,
    )  # fmt: skip


def _teeth(heard: Heard, phone: Phone, limits: Limits) -> Finding | None:
    """f, v: the lower lip must come up to the teeth; told by the lips' distance, and by the teeth where they can be read."""
    if not articulations()[phone.phone].teeth_on_lip:
        return None
    window = heard.frames(phone, around=limits["closure_window"])
    opening = heard.mouth.opening[window]
    if not np.isfinite(opening).any():
        return None
    gap = float(np.nanmin(opening))
    limit = limits["teeth_on_lip"] * heard.reach
    touch = heard.mouth.teeth_on_lip
    if gap <= limit or (touch is not None and float(np.nanmax(touch[window])) >= 0.5):
        return None
    missed = Missed(gap, gap - limit, max(_known(heard.mouth.opening_error[window].max()), OPENING_ERROR), int(window[0]))
    return None if not missed.surely(limits) else _simple(
        heard, phone, "teeth_on_lip", 100 * gap / heard.reach, "% of the line's widest opening between the lips", 100 *
        limits["teeth_on_lip"], missed.confidence,
        f"{heard.who}'s lower lip doesn't come up to the teeth on the {phone.phone.lower()} of {word_text(heard.readings, phone)}",
        "Bring the lower lip up under the upper teeth", TEETH_BASIS,
    )  # fmt: skip


ROUNDED = frozenset({"W", "UW", "OW"})


def rounding(heard: Heard, phone: Phone, limits: Limits) -> Missed | None:
    """How much narrower than usual the mouth gets on a w, oo or oh; None on others, and where the width is not known."""
    if phone.phone not in ROUNDED or phone.stress == 0:
        return None
    frames = heard.frames(phone, around=1.0)
    width = heard.mouth.width[frames]
    if not np.isfinite(width).any():
        return None
    narrow = 1 - float(np.nanmin(width)) / heard.rest_width
    error = _known(np.nanmax(heard.mouth.width_error[frames]))
    return Missed(narrow, limits["round"] - narrow, max(error, WIDTH_ERROR), int(frames[0]), ROUND_BARS)


def _round(heard: Heard, phone: Phone, limits: Limits) -> Finding | None:
    """w, oo, oh: the corners must come in, against the line's own median width."""
    missed = rounding(heard, phone, limits)
    if missed is None or not missed.surely(limits):
        return None
    return _simple(
        heard, phone, "round", 100 * max(missed.value, 0.0), "% narrower than the line's usual mouth", 100 * limits["round"], missed.confidence,
        f"{heard.who}'s mouth doesn't round on the {_sound(phone)} of {word_text(heard.readings, phone)}", "Bring the corners in and push the lips out",
        ROUND_BASIS,
    )  # fmt: skip


def _spreads(heard: Heard, limits: Limits) -> Iterator[Finding]:
    """One finding a pull, however many phones it reaches over: the tongue's own if there is one among them, else the widest."""
    pulls: list[list[tuple[Phone, Finding]]] = []
    for phone in heard.speech.phones:
        found = _spread(heard, phone, limits)
        if found is None:
            continue
        if pulls and found.span.start <= pulls[-1][-1][1].span.stop:
            pulls[-1].append((phone, found))
        else:
            pulls.append([(phone, found)])
    for pull in pulls:
        _, said = max(pull, key=lambda pair: (pair[0].phone in TONGUE_PHONES, pair[1].value))
        yield replace(said, span=Span(min(f.span.start for _, f in pull), max(f.span.stop for _, f in pull)))


def spreading(heard: Heard, phone: Phone, limits: Limits) -> Missed | None:
    """How far corners are pulled on a phone that does not ask for it, beyond what stands on both sides of it; None where the width is not known."""
    row = articulations()[phone.phone]
    if row.width > 1.0 or row.meets:
        return None
    frames = heard.frames(phone)
    around = heard.frames(phone, around=4.0)
    width = heard.mouth.width[frames]
    if not np.isfinite(width).any() or not np.isfinite(heard.mouth.width[around]).any():
        return None
    # A neighbour that asks for wide corners (ee, ay) may carry them over: what it wants is allowed for.
    allowed = max([row.width] + [articulations()[p.phone].width for p in heard.speech.phones if abs(p.start_s - phone.start_s) < 0.25])
    wide = float(np.nanmax(width)) / heard.rest_width - max(allowed, 1.0)
    error = _known(np.nanmax(heard.mouth.width_error[frames]))
    return Missed(wide, wide - limits["spread"], max(error, WIDTH_ERROR), int(frames[0]))


def _spread(heard: Heard, phone: Phone, limits: Limits) -> Finding | None:
    missed = spreading(heard, phone, limits)
    if missed is None or not missed.surely(limits):
        return None
    job = "; there the tongue does the work" if phone.phone in TONGUE_PHONES else ""
    return _simple(
        heard, phone, "spread", 100 * missed.value, "% wider than the phone and its neighbours ask for", 100 * limits["spread"], missed.confidence,
        f"{heard.who}'s mouth corners pull wide on the {phone.phone.lower()} of {word_text(heard.readings, phone)}{job}",
        "Leave the corners where they were, and show the tongue",
        SPREAD_BASIS,
    )  # fmt: skip


def dropping(heard: Heard, phone: Phone, limits: Limits) -> Missed | None:
    """How far the jaw drops on a stressed open vowel, against the line's own widest opening; None on others, and where the opening is not known."""
    if articulations()[phone.phone].jaw < 3 or phone.stress != 1 or phone.end_s - phone.start_s < 0.08:
        return None
    window = heard.frames(phone, around=1.0)
    opening = heard.mouth.opening[window]
    if not np.isfinite(opening).any():
        return None
    drop = float(np.nanmax(opening)) / heard.reach
    error = _known(np.nanmax(heard.mouth.opening_error[window])) / heard.reach
    return Missed(drop, limits["jaw"] - drop, max(error, DROP_ERROR), int(window[0]))


def _jaw(heard: Heard, phone: Phone, limits: Limits) -> Finding | None:
    """A stressed open vowel without the drop."""
    missed = dropping(heard, phone, limits)
    if missed is None or not missed.surely(limits):
        return None
    return _simple(
        heard, phone, "jaw", 100 * missed.value, "% of the line's widest opening", 100 * limits["jaw"], missed.confidence,
        f"{heard.who}'s jaw hardly drops on the stressed {_sound(phone)} of {word_text(heard.readings, phone)}", "Let the jaw fall there: it is the accent",
        JAW_BASIS,
    )  # fmt: skip


def _simple(
    heard: Heard, phone: Phone, kind: str, value: float, unit: str, limit: float, sure: float, says: str, suggest: str, basis: str
) -> Finding:
    frames = heard.frames(phone)
    return _finding(
        heard,
        phone,
        kind,
        Span(int(frames[0]), int(frames[-1]) + 1),
        round(value, 1),
        unit,
        round(limit, 1),
        "polish",
        sure,
        says,
        suggest,
        basis,
    )


def _finding(
    heard: Heard, phone: Phone, kind: str, span: Span, value: float, unit: str, limit: float, weight: str, sure: float, says: str,
    suggest: str,
    basis: str,
) -> Finding:  # fmt: skip
    first, stop = max(0, span.start - 6), min(len(heard.mouth.opening), span.stop + 6)
    shown = heard.mouth.width if kind in ("round", "spread") else heard.mouth.opening
    curve = Curve(
        f"mouth {'width' if shown is heard.mouth.width else 'opening'}", "of its width at rest", first, tuple(map(float, shown[first:stop]))
    )
    return Finding(
        check="lipsync", kind=kind, who=heard.actor.who, span=span, value=value, unit=unit, limit=limit, weight="must" if weight ==
        "must" else "polish",
        confidence=round(sure, 2), says=says, suggest=suggest, basis=basis, level=heard.actor.level,
        curves=(curve,),
    )  # fmt: skip


def _known(value: float | np.floating) -> float:
    return float(value) if np.isfinite(value) else 0.0


def _letters(group: Sequence[Phone]) -> str:
    return " and ".join(dict.fromkeys(phone.phone.lower() for phone in group))


def _sound(phone: Phone) -> str:
    return {"UW": "oo", "OW": "oh", "W": "w", "AA": "ah", "AE": "a", "AO": "aw", "AW": "ow", "AY": "eye", "EH": "e", "OY": "oy"}.get(
        phone.phone, phone.phone.lower()
    )
