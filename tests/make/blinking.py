"""Lids with planted blinks, and eyes that look about: openings frame by frame, with the noise and gaps of lids that are read in a picture, or exact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, Gaze, Head, Side
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.picture.acting import blinks_of
from tests.make.two_hander import movie_info

Array = npt.NDArray[np.float64]
SIDES: tuple[Side, Side] = ("left", "right")
RATE = 24


@dataclass(frozen=True)
class Planted:
    """at : frame (with parts) on which the lids are down; closing, held, opening : frames; depth : of the open eye"""

    at: float
    closing: float = 2.0
    held: float = 1.0
    opening: float = 4.0
    depth: float = 1.0

    def shut(self, frames: int) -> Array:
        """How far the lids are down, 0 open .. depth."""
        t = np.arange(frames, dtype=float)
        down = np.clip(1 - (self.at - t) / self.closing, 0, 1)
        up = np.clip(1 - (t - self.at - self.held) / self.opening, 0, 1)
        return np.asarray(self.depth * np.minimum(down, up))


def lids(frames: int, blinks: Sequence[Planted], rest: Array | float = 1.0) -> Array:
    """Opening of one eye. rest : what it is between blinks"""
    shut = np.zeros(frames)
    for blink in blinks:
        shut = np.maximum(shut, blink.shut(frames))
    return np.asarray(rest * (1 - shut))


def watching(left: Array, right: Array | None = None, *, yaw: Array | None = None, pitch: Array | None = None, level: int = 3) -> Readings:
    """Ada with these lids, who looks so many degrees to screen right and down, her head straight to us."""
    frames = len(left)
    yaws, pitches = (np.radians(np.zeros(frames) if way is None else way) for way in (yaw, pitch))
    way = np.stack([np.sin(yaws) * np.cos(pitches), np.sin(pitches), -np.cos(yaws) * np.cos(pitches)], axis=1).astype(np.float32)
    spot = np.full((frames, 2), 0.5, np.float32)
    exact = np.zeros(frames, np.float32)
    gaze = {side: Gaze(spot, way, exact, spot) for side in SIDES}
    facing = np.tile(np.array([0, 0, -1], np.float32), (frames, 1))
    both = {"left": left, "right": left if right is None else right}
    ada = Acting(
        "Ada",
        level,
        gaze=gaze,
        lids={side: both[side].astype(np.float32) for side in SIDES},
        head=Head(facing, np.full(frames, 200, np.float32)),
    )
    return Readings(
        movie=movie_info(frames), clock=FrameClock.steady(Fraction(RATE), frames), cast=parse_cast({"characters": [{"name": "Ada"}]}, name="c"),
        acting=(ada,), blinks=blinks_of([ada], float(RATE)),
    )  # fmt: skip


def lively(seed: int, count: int = 10, noise: float = 0.03) -> tuple[Readings, list[Planted]]:
    """Ada over half a minute: blinks of many shapes, half of them partial, between slow looks down, squints, winks and frames that are not read."""
    rng = np.random.default_rng(seed)
    frames = count * 70 + 40
    planted = [
        Planted(
            20 + 70 * k + float(rng.uniform(0, 25)), float(rng.uniform(1, 3)), float(rng.uniform(0, 3)), float(rng.uniform(2, 5)),
            float(rng.choice([1.0, 0.9, 0.6])),
        )
        for k in range(count)
    ]  # fmt: skip
    rest = np.ones(frames)
    for k in range(count):
        at = 20 + 70 * k + 45
        lower = float(rng.uniform(0.05, 0.3))
        rest[at - 12 : at + 13] -= lower * np.hanning(25)
    eyes = [lids(frames, planted, rest) for _ in SIDES]
    wink = Planted(20 + 70 * int(rng.integers(count)) + 36)
    eyes[0] = np.minimum(eyes[0], lids(frames, [wink], rest))
    for eye in eyes:
        eye += noise * rng.standard_normal(frames)
    away = int(rng.integers(5, 15))
    eyes[0][away], eyes[1][away] = np.nan, np.nan
    return watching(*(np.clip(eye, 0, None) for eye in eyes), level=2), planted
