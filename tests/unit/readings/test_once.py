"""What several checks need of one measurement is made once, and never taken for another measurement's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from tests.make.limit_cases.motions import drifting, seen

from shotcrit.readings.motion.paths import paths_of


def test_the_ways_of_marks_are_worked_out_once_for_all_checks():
    readings = seen(hand_left=drifting())
    assert paths_of(readings) is paths_of(readings)
    assert [path.mark for path in paths_of(readings)] == ["hand_left"]


def test_changed_readings_have_ways_of_their_own():
    readings = seen(hand_left=drifting())
    paths_of(readings)
    other = replace(readings, acting=seen(hand_right=drifting(2.0)).acting)
    assert [path.mark for path in paths_of(other)] == ["hand_right"]
    assert np.median(paths_of(other)[0].steps) < np.median(paths_of(readings)[0].steps)
