"""The wanted mouth, many times at once against one by one."""

from __future__ import annotations

import numpy as np
import pytest

from shotcrit.readings.events import Phone
from shotcrit.readings.sound.articulation import BLOCK, wanted_mouth


def test_many_times_at_once_are_each_time_by_itself() -> None:
    """Ten minutes are worked on in blocks; a block's edge changes nothing. No phones ask for a mouth at rest."""
    phones = [Phone(p, None, None, 0.1 * i, 0.1 * i + 0.08) for i, p in enumerate(["M", "AA", "F", "IY", "??", "P"] * 3)]
    times = np.linspace(-1, 3, 2 * BLOCK + 37)
    together = wanted_mouth(phones, times)
    alone = [wanted_mouth(phones, np.array([t])) for t in times[:: BLOCK // 3]]
    assert together.opening[:: BLOCK // 3] == pytest.approx([a.opening[0] for a in alone])
    assert together.width[:: BLOCK // 3] == pytest.approx([a.width[0] for a in alone])
    silent = wanted_mouth([], times)
    assert (silent.opening == 0).all()
    assert (silent.width == 1).all()
