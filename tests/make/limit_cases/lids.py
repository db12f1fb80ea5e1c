"""What the check of lids lets pass: one pair of eyes of which the scene knows all."""

from __future__ import annotations

import numpy as np

from shotcrit.readings.bundle import Readings
from tests.make.blinking import RATE, Planted, lids, watching
from tests.make.limit_cases.case import Case

FRAMES = 240


def staring(seconds: float) -> Readings:
    """Two blinks, so far apart."""
    gap = round(seconds * RATE)
    first = Planted(24)
    # From the frame on which the first is open again to the one on which the next begins.
    second = Planted(24 + first.held + first.opening + gap + first.closing)
    return watching(lids(int(second.at) + 24, [first, second]))


def often(rate: float) -> Readings:
    """Six blinks, so many a minute."""
    apart = 60 * RATE / rate
    return watching(lids(FRAMES, [Planted(20 + round(k * apart), 2, 0, 3) for k in range(6)]))


def eyes_apart(frames: float) -> Readings:
    """One blink, of the right eye so much later."""
    left, right = (lids(FRAMES, [Planted(60 + late, 4, 4, 6)]) for late in (0.0, frames))
    return watching(left, right)


def slow_to_close(frames: float) -> Readings:
    return watching(lids(FRAMES, [Planted(60, 4 + frames, 1, 4)]))


def swinging(degrees: float) -> Readings:
    """A look that swings so far over six frames."""
    t = np.clip((np.arange(96) - 40) / 6, 0, 1)
    return watching(np.ones(96), yaw=degrees * (t - 0.5))


def lids_that_follow(share: float) -> Readings:
    """Eyes that go up and down by 30 degrees, and lids by so much on the 27 of them that nine frames in ten lie in."""
    way = 15 * np.interp(np.arange(FRAMES) % 120, [0, 30, 90, 120], [0, 1, -1, 0])
    return watching(1 - share / 27 * (way + 15), pitch=way)


CASES = {
    "blink.stare_s": Case(staring, "stare", 2.0, 12.0, at=8.0, within=0.08),
    # Frames are whole: 60 a minute are 24 apart, and the next that is more is 23.
    "blink.often": Case(often, "often", 20.0, 120.0, at=60 * RATE / 23.5, within=1.5),
    # Twice what a moment between two frames may err in a scene lies on top of both.
    "blink.apart": Case(eyes_apart, "apart", 0.0, 3.0, at=0.75 + 0.3, within=0.15),
    "blink.slower": Case(slow_to_close, "slower", 0.0, 4.0, at=1.0 + 0.3, within=0.15),
    "blink.turn_deg": Case(swinging, "turn", 0.0, 80.0, at=33.0, within=0.1),
    "blink.follow": Case(lids_that_follow, "follow", 0.4, 0.0, at=0.1, within=0.01),
}
