"""A body that sways under a moving camera and breathes, or does not, with a lift and a lateness that are known. No renderer.

Head of 200 px (level 2) or 0.23 m (level 3). Rise: a half cosine over the breath, held a little, let go over a second: not the check's own shape.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, Head, MarkTrack, Mouth
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.events import Breath, Word
from tests.make.two_hander import movie_info

FRAMES, RATE = 96, 24
HEAD_PX, HEAD_M = 200.0, 0.23
BREATH = Breath("inhale", 1.6, 2.05, 16.0)


def rise(t: np.ndarray, late_frames: float) -> np.ndarray:
    t = t - late_frames / RATE
    up = np.clip((t - BREATH.start_s) / (BREATH.end_s - BREATH.start_s), 0, 1)
    down = np.clip((t - BREATH.end_s - 0.12) / 1.0, 0, 1)
    return (0.5 - 0.5 * np.cos(np.pi * up)) * (0.5 + 0.5 * np.cos(np.pi * down))


def breather(
    seed: int, lift: float, *, level: int = 2, noise_px: float = 0.15, late: float = 0.0, mouth: float | None = 0.0, breath: Breath = BREATH
) -> Readings:
    """lift : of head height; mouth : opening on the way in, of mouth width, None = mouth not known."""
    random = np.random.default_rng(seed)
    t = np.arange(FRAMES) / RATE
    scale = HEAD_PX if level == 2 else HEAD_M
    sway = 0.06 * scale * np.sin(2 * np.pi * random.uniform(0.15, 0.4) * t + random.uniform(0, 6))
    lean = 0.01 * scale * np.sin(2 * np.pi * random.uniform(0.15, 0.35) * t + random.uniform(0, 6))  # chest against hips: body bends
    camera = 150 * np.sin(0.5 * t + random.uniform(0, 6)) + 40 * t
    up = lift * scale * rise(t, late)
    places = {"chest": (-1.2, 1.0), "shoulder_left": (-1.0, 1.1), "shoulder_right": (-1.0, 1.1), "hips": (-3.2, 0.0)}
    marks = {}
    for name, (below, share) in places.items():
        height = below * scale + sway + (lean + share * up if name != "hips" else 0)
        marks[name] = _track(name, height, t, camera, random, level, noise_px)
    opening = np.zeros(FRAMES) if mouth is None else mouth * rise(t, 0) + random.normal(0, 0.004, FRAMES)
    told = np.ones(FRAMES, np.float32)
    lips = Mouth(opening.astype(np.float32), told, told * 0.005, told * 0.005, told)
    head = Head(np.zeros((FRAMES, 3), np.float32), np.full(FRAMES, HEAD_PX, np.float32))
    who = Acting("Ada", level, marks, mouth=None if mouth is None else lips, head=head)
    words = (Word("the", "Ada", 2.2, 2.3), Word("lantern", "Ada", 2.3, 2.8))
    return Readings(
        movie=movie_info(FRAMES), clock=FrameClock.steady(Fraction(RATE), FRAMES), cast=parse_cast({"characters": [{"name": "Ada"}]}, name="c"),
        sound=SoundReadings(words=words, breaths=(replace(breath),)), acting=(who,),
    )  # fmt: skip


def _track(name, height, t, camera, random, level, noise_px):
    error = np.full(FRAMES, noise_px if level == 2 else 0.0, np.float32)
    if level == 2:
        xy = np.stack([900 + camera, 300 - height + 0.3 * camera], axis=1) + random.normal(0, noise_px, (FRAMES, 2))
        return MarkTrack("Ada", name, (xy / [1920, 1080]).astype(np.float32), error)
    world = np.stack([0.05 * np.sin(t), 1.7 + height, 0 * t], axis=1)
    return MarkTrack("Ada", name, np.full((FRAMES, 2), 0.5, np.float32), error, world=world.astype(np.float32))
