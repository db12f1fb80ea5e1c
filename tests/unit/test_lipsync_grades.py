"""Verdicts on lip-sync offsets, against the published limits (ITU-R BT.1359-1, EBU R 37)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from shotcrit.checks.lipsync.offset import grade_offset


@pytest.mark.parametrize(
    ("ms", "grade"),
    [
        (-126, "visible"), (-125, "ok"), (0, "tight"), (45, "ok"), (46, "visible"),  # detectability +45/-125
        (-186, "unacceptable"), (-185, "visible"), (90, "visible"), (91, "unacceptable"),  # acceptability +90/-185
        (40, "tight"), (41, "ok"), (-60, "tight"), (-61, "ok"),  # EBU R 37 +40/-60
    ],
)  # fmt: skip
def test_limits(ms, grade):
    assert grade_offset(ms) == grade


@pytest.mark.parametrize(
    ("frames", "rate", "grade"),
    [
        (1, 24, "ok"), (2, 24, "visible"), (3, 24, "unacceptable"), (-1, 24, "tight"), (-2, 24, "ok"), (-3, 24, "ok"), (-4, 24, "visible"),
        (-5, 24, "unacceptable"), (-5, 25, "unacceptable"), (-5, 30, "visible"), (3, 30, "unacceptable"), (1, 30, "tight"), (1, 25, "tight"),
    ],
)  # fmt: skip
def test_the_worked_table_in_frames(frames, rate, grade):
    """Three frames early at 24 are exactly -125 ms, the limit itself, and count as inside."""
    assert grade_offset(Fraction(frames * 1000, rate)) == grade
