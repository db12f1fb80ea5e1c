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
from shotcrit.checks.lipsync.offset import frame_starts
from shotcrit.clock import Span
from shotcrit.readings.acting import Acting, Mouth
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Phone
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


def _closures(heard: Heard, limits: Limits) -> Iterator[Finding]:
    """An m, b or p whose lips never meet within a frame of it. Neighbouring closures ('some pale') are one."""
    table = articulations()
    group: list[Phone] = []
    for phone in (*heard.speech.phones, None):
        if phone is not None and table.get(phone.phone) is not None and table[phone.phone].meets:
            if group and phone.start_s - group[-1].end_s > 0.02:
                yield from _closure(heard, group, limits)
                group = []
            group.append(phone)
        elif group:
            yield from _closure(heard, group, limits)
            group = []


def _closure(heard: Heard, group: Sequence[Phone], limits: Limits) -> Iterator[Finding]:
    whole = Phone(group[0].phone, None, group[0].word, group[0].start_s, group[-1].end_s)
    window = heard.frames(whole, around=limits["closure_window"])
    opening = heard.mouth.opening[window]
    if not np.isfinite(opening).any():
        return
    least = int(window[int(np.nanargmin(opening))])
    gap = float(heard.mouth.opening[least])
    touch = max(limits["lips_meet"], limits["lips_meet_share"] * heard.reach)
    error = _known(heard.mouth.opening_error[least])
    meets = _known(np.nanmax(heard.mouth.meets[window]))
    if gap <= touch or meets >= 0.5:
        return
    sure = _sureness((gap - touch) / max(error, 0.01))
    if sure < limits["sure"]:
        return
    own = heard.frames(whole)
    yield _finding(
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
    sure = _sureness((gap - limit) / max(_known(heard.mouth.opening_error[window].max()), 0.01))
    return None if sure < limits["sure"] else _simple(
        heard, phone, "teeth_on_lip", 100 * gap / heard.reach, "% of the line's widest opening between the lips", 100 *
        limits["teeth_on_lip"], sure,
        f"{heard.who}'s lower lip doesn't come up to the teeth on the {phone.phone.lower()} of {word_text(heard.readings, phone)}",
        "Bring the lower lip up under the upper teeth", TEETH_BASIS,
    )  # fmt: skip


ROUNDED = frozenset({"W", "UW", "OW"})


def rounding(heard: Heard, phone: Phone, limits: Limits) -> tuple[float, float, float]:
    """(how much narrower than usual the mouth gets, its error, how sure it is that this is too little); nan, nan, 0 where the width is not known."""
    frames = heard.frames(phone, around=1.0)
    width = heard.mouth.width[frames]
    if not np.isfinite(width).any():
        return float("nan"), float("nan"), 0.0
    narrow = 1 - float(np.nanmin(width)) / heard.rest_width
    error = _known(np.nanmax(heard.mouth.width_error[frames]))
    return narrow, error, _sureness((limits["round"] - narrow) / max(error, 0.02))


def _round(heard: Heard, phone: Phone, limits: Limits) -> Finding | None:
    """w, oo, oh: the corners must come in, against the line's own median width."""
    if phone.phone not in ROUNDED or phone.stress == 0:
        return None
    narrow, _, sure = rounding(heard, phone, limits)
    if not narrow < limits["round"] or sure < limits["sure"]:
        return None
    return _simple(
        heard, phone, "round", 100 * max(narrow, 0.0), "% narrower than the line's usual mouth", 100 * limits["round"], sure,
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


def _spread(heard: Heard, phone: Phone, limits: Limits) -> Finding | None:
    """Corners pulled wide on a phone that does not ask for it, beyond what stands on both sides of it."""
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
    sure = _sureness((wide - limits["spread"]) / max(error, 0.02))
    if wide <= limits["spread"] or sure < limits["sure"]:
        return None
    job = "; there the tongue does the work" if phone.phone in TONGUE_PHONES else ""
    return _simple(
        heard, phone, "spread", 100 * wide, "% wider than the phone and its neighbours ask for", 100 * limits["spread"], sure,
        f"{heard.who}'s mouth corners pull wide on the {phone.phone.lower()} of {word_text(heard.readings, phone)}{job}",
        "Leave the corners where they were, and show the tongue",
        SPREAD_BASIS,
    )  # fmt: skip


def _jaw(heard: Heard, phone: Phone, limits: Limits) -> Finding | None:
    """A stressed open vowel without the drop, against the line's own widest opening."""
    if articulations()[phone.phone].jaw < 3 or phone.stress != 1 or phone.end_s - phone.start_s < 0.08:
        return None
    window = heard.frames(phone, around=1.0)
    opening = heard.mouth.opening[window]
    if not np.isfinite(opening).any():
        return None
    drop = float(np.nanmax(opening)) / heard.reach
    error = _known(np.nanmax(heard.mouth.opening_error[window])) / heard.reach
    sure = _sureness((limits["jaw"] - drop) / max(error, 0.05))
    if drop >= limits["jaw"] or sure < limits["sure"]:
        return None
    return _simple(
        heard, phone, "jaw", 100 * drop, "% of the line's widest opening", 100 * limits["jaw"], sure,
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


def _sureness(distance: float) -> float:
    """How sure a value is past its limit, from its distance in standard errors: the normal distribution's 0.5 .. 1."""
    return float(0.5 * (1 + np.tanh(0.8 * distance)))


def _letters(group: Sequence[Phone]) -> str:
    return " and ".join(dict.fromkeys(phone.phone.lower() for phone in group))


def _sound(phone: Phone) -> str:
    return {"UW": "oo", "OW": "oh", "W": "w", "AA": "ah", "AE": "a", "AO": "aw", "AW": "ow", "AY": "eye", "EH": "e", "OY": "oy"}.get(
        phone.phone, phone.phone.lower()
    )
