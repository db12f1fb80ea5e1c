"""Where things of the old take lie in the new one, and whether anything is otherwise there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import column_of
from shotcrit.clock import Span
from shotcrit.crit.records import Drawing
from shotcrit.readings.bundle import Readings
from shotcrit.readings.seen import Box
from shotcrit.takes.change import ChangeMap
from shotcrit.takes.frame_map import FrameMap
from shotcrit.takes.seen import framed_box

NEAR = 3
"""Frames by which a finding may lie off where it is expected, and still be the same one (guess)."""
ROOM = 0.04
"""Parts of the picture's width and height about what a person's marks or a drawing cover, that belong to it (guess)."""
BESIDE = 2
"""Frames on either side of a finding on which what it saw may have been mended or broken (guess: a closure is posed over two)."""
COUNTING = frozenset({"hold", "cadence"})
"""Checks that count equal pictures: what they found may be mended by changes that are smaller than any that the map of change tells."""


@dataclass(frozen=True)
class Places:
    """old : the old take's readings; changes : None where only the sound was lined up; rate : old frames a second over new frames a second

    doubtful : whose marks of which part have to be confirmed on the new take (carry.py)
    """

    old: Readings
    map: FrameMap
    changes: ChangeMap | None
    rate: float = 1.0
    doubtful: frozenset[tuple[str, str]] = frozenset()

    @property
    def painted_over(self) -> bool:
        """Whether something lies over the new picture throughout that the old one had not, such as a counter."""
        return self.changes is not None and bool(self.changes.painted.any())

    def new_span(self, old: Span) -> Span | None:
        """The new frames of old ones; None where all of them are gone."""
        inside = old.overlap(Span(0, len(self.map.new_of)))
        return None if inside is None else self.map.span(inside)

    def sure(self, new: Span | None) -> float:
        """0..1 that these new frames are the right ones."""
        return 0.0 if new is None else round(self.map.sure_of(new), 2)

    def retimed(self, old: Span, new: Span | None) -> bool:
        """Whether the new take runs otherwise over these frames: longer, shorter, with some gone or put in."""
        if new is None:
            return True
        steps = np.diff(self.map.old_of[new.start : new.stop])
        pace = max(1, round(float(self.old.movie.frames) / max(len(self.map.old_of), 1)))
        odd = int(((steps < 0) | (steps > pace + 1)).sum())
        expected = len(old) * self._pace()
        return odd > 0 or abs(len(new) - expected) > max(2.0, 0.04 * expected)

    def _pace(self) -> float:
        """New frames an old one where nothing was retimed: 1 unless the rate is another."""
        alike = [s for s in self.map.stretches if s.kind == "alike" and s.old and s.new]
        old, new = sum(len(s.old) for s in alike if s.old), sum(len(s.new) for s in alike if s.new)
        return new / old if old else 1.0

    def lengths(self, old: Span, new: Span | None) -> tuple[int, int]:
        return len(old), 0 if new is None else len(new)

    def touched(self, new: Span, box: Box | None) -> bool:
        """Whether the picture changed there; where there is no picture to compare, it may have."""
        return self.changes is None or self.changes.touched(new, box)

    def drawn(self, drawings: Sequence[Drawing]) -> Box | None:
        """What drawings cover, on the new picture."""
        points = [(x, y) for d in drawings for s in d.strokes for x, y, _, _ in s.points]
        return self._box(points)

    def person(self, who: str | None, old: Span) -> Box | None:
        """What a character's or prop's marks cover over frames of the old take, on the new picture; None where nothing is known."""
        points: list[tuple[float, float]] = []
        for acting in self.old.acting:
            if who is not None and acting.who == who:
                for track in acting.marks.values():
                    points += [(float(x), float(y)) for x, y in track.xy[old.start : old.stop] if np.isfinite(x) and np.isfinite(y)]
        return self._box(points)

    def of_finding(self, finding: Finding) -> Box | None:
        """Where a finding shows: its strokes, and all of whoever it is about, since what it saw may be mended next to where it was seen."""
        drawn = self._box([point for stroke in finding.strokes for point in stroke.points])
        boxes = [drawn, *(self.person(who, finding.span) for who in (finding.who or "").split(" and ") if who)]
        known = [box for box in boxes if box is not None]
        if not known:
            return None
        return Box(
            min(b.left for b in known), min(b.top for b in known), max(b.right for b in known), max(b.bottom for b in known),
        )  # fmt: skip

    def _box(self, points: Sequence[tuple[float, float]]) -> Box | None:
        if not points:
            return None
        x, y = [p[0] for p in points], [p[1] for p in points]
        box = Box(min(x) - ROOM, min(y) - ROOM, max(x) + ROOM, max(y) + ROOM)
        return box if self.map.sight is None else framed_box(self.map.sight, box)

    def as_it_was(self, finding: Finding, new: Span | None) -> bool:
        """Whether picture and time are as they were where a finding shows, so that nothing can have become of it."""
        if new is None or finding.check in COUNTING or self.retimed(finding.span, new):
            return False
        return not self.touched(_about(new), self.of_finding(finding))

    def same_thing(self, was: Finding, now: Finding) -> bool:
        """Whether a finding of the new take is one of the old take's: the same check, kind and person, at the same place."""
        if (was.check, was.kind, was.who) != (now.check, now.kind, now.who):
            return False
        there = self.new_span(was.span)
        if there is None:
            return was.check == "hold" and was.kind in ("head", "tail")
        return there.gap(now.span) <= NEAR

    def in_doubt(self, finding: Finding) -> bool:
        """Whether a finding rests on marks that a person has to confirm on the new take first."""
        if finding.level != 2 or not finding.who:
            return False
        column = column_of(finding.check)
        part = column if column in ("mouth", "eyes") else "body"
        return any((who, part) in self.doubtful for who in finding.who.split(" and "))

    def may_be_new(self, finding: Finding) -> bool:
        """Whether a finding of the new take can be of the new take's own making: something is otherwise on its frames."""
        if self.in_doubt(finding):
            return False
        old = [int(frame) for frame in self.map.old_of[finding.span.start : finding.span.stop] if frame >= 0]
        if not old or finding.level == 3:
            return True
        was = Span(min(old), max(old) + 1)
        if self.changes is None or finding.check in COUNTING or self.retimed(was, finding.span):
            return True
        return self.changes.touched(_about(finding.span), self.of_finding(replace(finding, span=was)) if finding.who else None)


def _about(span: Span) -> Span:
    return Span(max(0, span.start - BESIDE), span.stop + BESIDE)
