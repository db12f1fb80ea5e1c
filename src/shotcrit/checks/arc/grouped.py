"""One cause is one finding: what of one body is odd on the same frames belongs together, and what is odd all over the picture is no body's fault."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shotcrit.checks.arc.events import Event
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.paths import Path

TOGETHER = 2
"""Frames that the parts of one body may lie apart in one fault (guess: a part trails another by as much)."""
ALL = 0.6
"""Part of all marks of a shot; where so many do the same on one frame, the picture does it: a lost or doubled frame, a jolt of the camera (guess)."""
LEAST_MARKS = 4
"""Marks, of two at least, that it takes to tell a picture's jolt from a body's (guess)."""
EDGE = 2
"""Frames beside a repeated, doubled or dropped one on which no path is judged (calculated: a fit over seven frames feels it on three)."""


@dataclass(frozen=True)
class Fault:
    """Events of one kind, of one body, on the same frames. leads : the one that shows most"""

    leads: Event
    events: tuple[Event, ...]

    @property
    def span(self) -> Span:
        return Span(min(e.span.start for e in self.events), max(e.span.stop for e in self.events))


def faults_of(readings: Readings, paths: Sequence[Path], events: Iterable[Event]) -> list[Fault]:
    """Events put together by body; without those that the picture as a whole brought about."""
    bodies = _bodies(readings)
    odd = _odd_frames(readings)
    open_groups: dict[tuple[str, str], list[list[Event]]] = {}
    for event in sorted(events, key=lambda e: e.span):
        if any(abs(frame - bad) <= EDGE for frame in (event.span.start, event.span.last) for bad in odd):
            continue
        groups = open_groups.setdefault((bodies.get(event.path.who, event.path.who), event.kind), [])
        near = [group for group in groups if any(event.span.gap(e.span) <= TOGETHER and event.starts == e.starts for e in group)]
        (near[0] if near else groups.append([]) or groups[-1]).append(event)  # type: ignore[func-returns-value]
    found = [Fault(max(group, key=lambda e: e.px), tuple(group)) for groups in open_groups.values() for group in groups]
    return sorted((fault for fault in found if not _by_all(fault, found, paths)), key=lambda fault: fault.span)


def _bodies(readings: Readings) -> Mapping[str, str]:
    """Whose hand each thing is in, by the cast's contacts: what is held goes with the body."""
    people = {person.name for person in readings.cast.characters} if readings.cast else set()
    held: dict[str, str] = {}
    for contact in readings.cast.contacts if readings.cast else ():
        one, other = contact.a.partition(".")[0], contact.b.partition(".")[0]
        for thing, owner in ((one, other), (other, one)):
            if owner in people and thing not in people:
                held.setdefault(thing, owner)
    return held


def _odd_frames(readings: Readings) -> list[int]:
    """Frames that repeat the one before, or that were doubled or dropped."""
    picture = readings.picture
    if picture is None:
        return []
    rhythm = picture.cadence
    return [*np.flatnonzero(picture.repeats).tolist(), *((*rhythm.doubled, *rhythm.dropped) if rhythm else ())]


def _by_all(fault: Fault, faults: Sequence[Fault], paths: Sequence[Path]) -> bool:
    """Whether most of what is seen on these frames, of two bodies or more or of one at level 2, does the same."""
    if fault.leads.kind in ("kink", "no_ease", "jitter"):
        return False
    alike = [f for f in faults if f.leads.kind == fault.leads.kind and f.span.overlap(fault.span) is not None]
    there = {(p.who, p.mark) for p in paths if p.span.overlap(fault.span) is not None}
    does = {(e.path.who, e.path.mark) for f in alike for e in f.events}
    alone = len({who for who, _ in there}) < 2 and fault.leads.path.level == 3
    return not alone and len(there) >= LEAST_MARKS and len(does) >= ALL * len(there)
