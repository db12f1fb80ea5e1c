"""One finding of the old take, measured again at its new frames."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shotcrit.checks.finding import Finding, NotMeasured
from shotcrit.checks.measured import Measured
from shotcrit.checks.registry import column_of
from shotcrit.clock import Span
from shotcrit.crit.findings import past_limit
from shotcrit.readings.acting import Acting
from shotcrit.takes.places import COUNTING, NEAR, Places

Word = Literal["moved", "unchanged", "worse", "cannot tell"]
Why = Literal["", "gone", "unsure", "not measured", "not seen", "lesser", "marks", "painted"]

ERRORS = {"frames": 0.75, "degrees": 2.0, "mm": 2.0, "px": 1.5, "s": 0.1, "%": 5.0}
"""By how much a value may differ on two exports of one take, by the unit that it counts (guesses, from the checks' own error bars)."""
COUNTED = 1.0
"""The same of frames that are counted, not estimated: one may fall to either side of the noise."""
SHARE = 0.15
"""The same of every other unit, as a part of the value or its limit, whichever is more (guess)."""
UNSURE = 0.3
"""Confidence of the frame map under which nothing that is missing is called mended."""
KNOWN = 0.5
"""Part of the frames on which a person has to be followed for something missing to mean anything (guess)."""


@dataclass(frozen=True)
class Again:
    """span : its new frames, None where gone; value : what was measured there, None where nothing past its limit was found, nor any number known

    why : where nothing can be told: 'gone' its frames are; 'unsure' which frames they are; 'not measured' by its check (needs says what that needs);
        'not seen' the person is not followed there; 'marks' the person's marks have to be confirmed on the new take first;
        'lesser' the new take was measured at a lower level; 'painted' something lies over the new picture throughout, so that equal frames cannot be counted
    still : whether nothing is otherwise on these frames
    """

    span: Span | None
    value: float | None
    verdict: Word
    finding: Finding | None = None
    why: Why = ""
    needs: str = ""
    still: bool = False


def measured_again(finding: Finding, new: Measured, places: Places) -> Again:
    """What the new take shows where a finding of the old one lies. Under a counter that changes on every frame no two pictures are equal any more."""
    found = _measured_again(finding, new, places)
    if found.verdict == "moved" and finding.check in COUNTING and places.painted_over:
        return Again(found.span, None, "cannot tell", why="painted")
    return found


def _measured_again(finding: Finding, new: Measured, places: Places) -> Again:
    span = places.new_span(finding.span)
    there = _found_again(finding, new, places)
    as_it_was = places.as_it_was(finding, span)
    if places.in_doubt(finding) and span is not None and not as_it_was:
        return Again(span, None, "cannot tell", why="marks", needs=finding.who or "")
    if there is not None:
        word: Word = "unchanged" if as_it_was and finding.level < 3 else _compared(finding, there.value, places.rate)
        return Again(there.span, there.value, word, there, still=as_it_was)
    if finding.check == "hold" and finding.kind in ("head", "tail", "inside"):
        return _hold_again(finding, new, span, places.rate)
    if span is None:
        return Again(None, None, "cannot tell", why="gone")
    if as_it_was and finding.level < 3:
        return Again(span, finding.value, "unchanged", still=True)
    return _missing(finding, new, places, span)


def _found_again(finding: Finding, new: Measured, places: Places) -> Finding | None:
    alike = [f for f in new.findings if places.same_thing(finding, f)]
    span = places.new_span(finding.span)

    def shared(one: Finding) -> int:
        both = span.overlap(one.span) if span else None
        return len(both) if both else 0

    return max(alike, key=shared, default=None)


def _compared(finding: Finding, value: float, rate: float) -> Word:
    """A value against the old one: another only beyond what two exports of one take may differ by.

    rate : old frames a second over new frames a second, so that what is counted in frames is compared as the time that it lasts
    """
    counts = finding.unit.startswith("frame")
    value = value * rate if counts else value
    if not np.isfinite(value) or not np.isfinite(finding.value):
        return "cannot tell"
    error = error_of(finding) * (max(1.0, rate) if counts else 1.0)
    if finding.value * value < 0 and abs(finding.value - value) > error:
        return "worse" if abs(value) > abs(finding.value) + error else "moved"
    nearer = past_limit(finding.value, finding.limit) - past_limit(value, finding.limit)
    return "moved" if nearer > error else "worse" if nearer < -error else "unchanged"


def error_of(finding: Finding) -> float:
    """By how much a finding's value may differ on two exports of one take, in its unit."""
    if finding.check in ("hold", "cadence"):
        return COUNTED
    head = finding.unit.partition(" ")[0].rstrip(",")
    return ERRORS.get(head, SHARE * max(abs(finding.value), abs(finding.limit)))


def _hold_again(finding: Finding, new: Measured, span: Span | None, rate: float) -> Again:
    """Dead frames that are no longer too many: how many are left."""
    picture = new.readings.picture
    if picture is None:
        return Again(span, None, "cannot tell", why="not measured", needs="pictures")
    frames = len(picture.dead)
    if finding.kind == "tail":
        left = _run(picture.dead[::-1])
        where = Span(frames - max(left, 1), frames)
    elif finding.kind == "head":
        left = _run(picture.dead[1:])
        where = Span(min(1, frames - 1), min(1, frames - 1) + max(left, 1))
    elif span is None:
        return Again(None, None, "cannot tell", why="gone")
    else:
        left, where = int(picture.dead[span.start : span.stop].sum()), span
    return Again(where, float(left), _compared(finding, float(left), rate))


def _run(flags: np.ndarray) -> int:
    stops = np.flatnonzero(~flags)
    return int(stops[0]) if len(stops) else len(flags)


def _missing(finding: Finding, new: Measured, places: Places, span: Span) -> Again:
    """Not found any more, on frames where something is otherwise: mended, if it could have been seen."""
    if places.sure(span) < UNSURE:
        return Again(span, None, "cannot tell", why="unsure")
    lacking = next((m for m in new.not_measured if _about(m, finding, span, new)), None)
    if lacking is not None:
        return Again(span, None, "cannot tell", why="not measured", needs=lacking.needs)
    if finding.level >= 2 and finding.who:
        for who in finding.who.split(" and "):
            acting = new.readings.actor(who)
            if acting is None or acting.level < finding.level:
                return Again(span, None, "cannot tell", why="lesser", needs=who)
            if not _followed(acting, finding, span):
                return Again(span, None, "cannot tell", why="not seen", needs=who)
    return Again(span, None, "moved")


def _about(missing: NotMeasured, finding: Finding, span: Span, new: Measured) -> bool:
    """Whether what was not measured is what a finding needs, on its frames."""
    if missing.check != finding.check or (missing.who not in (None, finding.who) and missing.who not in (finding.who or "").split(" and ")):
        return False
    index = new.readings.numbering.index
    told = [(int(a), int(b or a)) for a, b in re.findall(r"\bat (\d+)(?: to (\d+))?", missing.needs)]
    return not told or any(index(a) <= span.last + NEAR and index(b) >= span.start - NEAR for a, b in told)


def _followed(acting: Acting, finding: Finding, span: Span) -> bool:
    """Whether what a finding is about was followed on most of these frames."""
    column = column_of(finding.check)
    part = slice(span.start, span.stop)
    if column == "mouth" and acting.mouth is not None:
        return float(np.isfinite(acting.mouth.opening[part]).mean()) >= KNOWN
    if column == "eyes" and acting.gaze:
        return max(float(np.isfinite(eye.direction[part, 0]).mean()) for eye in acting.gaze.values()) >= KNOWN
    if not acting.marks:
        return acting.level == 3
    return max(float(np.isfinite(track.xy[part, 0]).mean()) for track in acting.marks.values()) >= KNOWN
