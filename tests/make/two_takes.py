"""Two takes as measured, with a frame map and a map of change that are written down here, and no media."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import numpy as np

from shotcrit.checks.finding import Finding
from shotcrit.checks.measured import Measured
from shotcrit.clock import Span
from shotcrit.readings.picture.glance import HIGH, WIDE
from shotcrit.takes.change import ChangeMap
from shotcrit.takes.frame_map import FrameMap, inverse, stretches_of
from tests.make.measured import FRAMES, measured


def as_it_was(frames: int = FRAMES) -> FrameMap:
    """Frame for frame."""
    return a_map(np.arange(frames), frames)


def a_map(old_of: np.ndarray, old: int = FRAMES) -> FrameMap:
    way = np.asarray(old_of, np.int64)
    return FrameMap(way, inverse(way, old), np.full(len(way), 0.97, np.float32), stretches_of(way, old, Fraction(1)), 1.0, 1.0)


def changes(frames: int = FRAMES, *spans: tuple[int, int]) -> ChangeMap:
    """The whole picture changed over these frames, both ends in, and nowhere else."""
    by = np.full((frames, HIGH, WIDE), 0.2, np.float16)
    flags = np.zeros((frames, HIGH, WIDE), np.bool_)
    for first, last in spans:
        flags[first : last + 1], by[first : last + 1] = True, 30
    return ChangeMap(by, flags, np.ones(frames, np.bool_), np.zeros((HIGH, WIDE), np.bool_), 0.2)


def without(take: Measured, check: str) -> Measured:
    """A measurement in which a check found nothing."""
    return replace(take, findings=tuple(f for f in take.findings if f.check != check))


def with_value(take: Measured, check: str, value: float) -> Measured:
    """A measurement in which a check's findings have another value."""
    return replace(take, findings=tuple(replace(f, value=value) if f.check == check else f for f in take.findings))


def later(one: Finding, frames: int) -> Finding:
    """A finding so many frames later, strokes and all."""
    strokes = tuple(replace(s, frame=s.frame + frames) for s in one.strokes)
    return replace(one, span=Span(one.span.start + frames, one.span.stop + frames), strokes=strokes)


def moved_from(findings: Iterable[Finding], frame: int, frames: int) -> tuple[Finding, ...]:
    """Findings with all that begin at or after a frame so many frames later."""
    return tuple(later(f, frames) if f.span.start >= frame else f for f in findings)


def finding(take: Measured, check: str) -> Finding:
    return next(f for f in take.findings if f.check == check)


def take() -> Measured:
    """The old one: a breath, a look, a closure, a slide and a dead tail."""
    return measured(level=2)
