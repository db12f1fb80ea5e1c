"""lipsync at level 2: faults planted in the mouths of generated faces are found by their marks, and the clean twin is silent. Two unlike renderers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from tests.make.heads3d import Heads
from tests.make.speaking import at_phone, drawn, line, solid, speaking, wanted

from shotcrit.checks.finding import Result
from shotcrit.checks.lipsync import check as lipsync
from shotcrit.checks.registry import limits_for
from shotcrit.readings.bundle import Readings

LIMITS = limits_for(lipsync, {})
SILENT = 20
"""Frames after the line's end; the solid head, which costs more, is filmed up to its beginning only."""
FILMS: dict[str, tuple[Callable[[np.ndarray, np.ndarray], Heads], int | None]] = {"drawn": (drawn, None), "solid": (solid, -SILENT)}


@cache
def clean(name: str) -> Readings:
    make, stop = FILMS[name]
    return speaking(make, *(series[:stop] for series in wanted()))


@cache
def faulty(name: str) -> Readings:
    """The n of 'wants' pulled wide, its w not rounded, the a of 'Dad' without its drop, the f of 'four' with the lip away; a mouth that works in silence."""
    opening, width = wanted()
    width[at_phone("N", 1)] = 1.36
    opening[at_phone("AE")] = np.minimum(opening[at_phone("AE")], 0.06)
    width[at_phone("W")] = 1.02
    opening[at_phone("F")] = 0.42
    opening[-13:-2] = 0.2 + 0.2 * np.sin(1.3 * np.arange(11))
    make, stop = FILMS[name]
    return speaking(make, opening[:stop], width[:stop])


def run(readings: Readings) -> Result:
    return lipsync.run(readings, LIMITS)


@pytest.mark.parametrize("name", FILMS)
def test_the_clean_twin_is_silent(name: str) -> None:
    assert [f.says for f in run(clean(name)).findings] == []


@pytest.mark.parametrize("name", FILMS)
@pytest.mark.parametrize(
    ("kind", "phone", "nth", "size", "off"),
    [("spread", "N", 1, 36, 10), ("jaw", "AE", 0, 14, 15), ("round", "W", 0, -2, 7), ("teeth_on_lip", "F", 0, 90, 15)],
)
def test_a_planted_fault_is_found_once_with_its_size(name: str, kind: str, phone: str, nth: int, size: float, off: float) -> None:
    """size : % as the finding says it, from what was planted; off : openings are read within 4 % of the mouth's width at rest, a tenth of the line's widest."""
    (finding,) = [f for f in run(faulty(name)).findings if f.kind == kind]
    assert set(range(finding.span.start, finding.span.stop)) & set(at_phone(phone, nth).tolist())
    assert finding.value == pytest.approx(size, abs=off)
    assert finding.level == 2
    assert finding.weight == "polish"


def test_a_mouth_that_works_in_silence() -> None:
    (finding,) = [f for f in run(faulty("drawn")).findings if f.kind == "idle"]
    frames = len(wanted()[0])
    assert finding.span.start >= frames - 15
    assert finding.span.stop <= frames


def test_a_mouth_that_chatters() -> None:
    opening, width = wanted()
    frames = np.arange(len(opening))
    opening = np.where((frames > 3) & (frames < len(frames) - SILENT), 0.2 + 0.2 * np.cos(np.pi * frames / 2), 0)
    (finding,) = [f for f in run(speaking(drawn, opening[:-SILENT], width[:-SILENT])).findings if f.kind == "flutter"]
    assert finding.value >= 9


def test_a_mouth_that_stands_still_while_it_speaks() -> None:
    """Taught what open is by a yawn before the line."""
    opening, width = (np.zeros_like(wanted()[0]), np.ones_like(wanted()[1]))
    opening[1:4] = 0.4
    (finding,) = run(speaking(drawn, opening[:-SILENT], width[:-SILENT])).findings
    assert finding.kind == "dead_mouth"
    assert finding.weight == "must"


def test_what_four_marks_cannot_tell_is_said() -> None:
    lacks = [one.needs for one in run(clean("drawn")).not_measured]
    shown = 1 + int(at_phone("F")[1])
    assert any(f"f at {shown}" in text and "upper teeth" in text for text in lacks)
    assert not any("upper teeth" in one.needs for one in run(faulty("drawn")).not_measured)


def test_teeth_that_are_known_leave_nothing_open() -> None:
    readings = clean("drawn")
    (ada,) = readings.acting
    assert ada.mouth is not None
    known = replace(ada, mouth=replace(ada.mouth, teeth_on_lip=np.ones(len(ada.mouth.opening), np.float32)))
    assert not any("upper teeth" in one.needs for one in run(replace(readings, acting=(known,))).not_measured)


def test_a_width_that_is_not_sure_gives_no_verdict_on_rounding() -> None:
    readings = faulty("drawn")
    (ada,) = readings.acting
    assert ada.mouth is not None
    shaky = replace(ada, mouth=replace(ada.mouth, width_error=np.full(len(ada.mouth.opening), 0.2, np.float32)))
    result = run(replace(readings, acting=(shaky,)))
    assert "round" not in {f.kind for f in result.findings}
    assert any("mouth rounds" in one.needs and "±20 %" in one.needs for one in result.not_measured)


def test_the_line_ends_before_the_silence() -> None:
    _, phones, clock = line()
    assert clock.frame_at(phones[-1].end_s) < len(clock) - SILENT
