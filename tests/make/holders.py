"""A hand that swings and turns with a prop in it, and a planted foot, with a slide that is known. Levels 2 and 3. No renderer."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
from scipy.spatial.transform import Rotation

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import PictureReadings, Readings, Series
from shotcrit.readings.cast import parse_cast
from tests.make.two_hander import movie_info

FRAMES = 60
PX_A_METRE = 800.0


def held(
    seed: int,
    *,
    level: int,
    slide: np.ndarray | None = None,
    noise_px: float = 0.1,
    cut: int | None = None,
    planted: bool = False,
    turns: float = 60.0,
) -> Readings:
    """slide : [shape=(FRAMES, 3)] metres of the prop's handle against the hand, in the hand's own frame (the world's for a foot)."""
    random = np.random.default_rng(seed)
    t = np.arange(FRAMES) / 24
    slide = np.zeros((FRAMES, 3)) if slide is None else slide
    swing = np.zeros(FRAMES) if planted else turns * np.sin(2 * np.pi * t / 2.5 + random.uniform(0, 6))
    turn = Rotation.from_euler("z", swing[:, None], degrees=True)
    hand = np.stack([np.sin((0 if planted else 1.1) * t), 0.2 * np.cos((0 if planted else 1.7) * t), 0 * t], axis=1)
    handle = hand + turn.apply(np.array([0.02, 0.06, 0.0]) + slide)
    a = _track("Ada", "hand_right", hand, turn.as_matrix(), level, noise_px, random)
    b = _track("kite", "handle", handle, turn.as_matrix(), level, noise_px, random)
    cast = parse_cast(
        {"characters": [{"name": "Ada", "scene": {"hand_right": "h"}}], "props": [{"name": "kite", "scene": {"handle": "k"}}],
         "contacts": [{"a": "Ada.hand_right", "b": "kite.handle", "first": 1, "last": FRAMES}]}, name="c",
    )  # fmt: skip
    picture = PictureReadings(np.zeros(FRAMES, bool), Series("movement", "px", np.ones(FRAMES, np.float32)), (cut,) if cut else (), 0.5)
    return Readings(
        movie=movie_info(FRAMES), clock=FrameClock.steady(Fraction(24), FRAMES), cast=cast, picture=picture,
        acting=(Acting("Ada", level, {"hand_right": a}), Acting("kite", level, {"handle": b})),
    )  # fmt: skip


def _track(who, mark, world, turn, level, noise_px, random):
    pixels = np.array([960.0, 540.0]) + PX_A_METRE * world[:, :2] * [1, -1]
    if level == 2:
        pixels = pixels + random.normal(0, noise_px, pixels.shape)
    xy = (pixels / [1920, 1080]).astype(np.float32)
    error = np.full(FRAMES, noise_px if level == 2 else 0, np.float32)
    if level == 2:
        return MarkTrack(who, mark, xy, error)
    return MarkTrack(who, mark, xy, error, world=world.astype(np.float32), turn=turn.astype(np.float32))


def slide_over(first: int, stop: int, metres: tuple[float, float, float]) -> np.ndarray:
    """Nothing before `first`, rising evenly until the last frame before `stop`, staying there."""
    share = np.clip((np.arange(FRAMES) - first + 1) / (stop - first), 0, 1)
    return share[:, None] * np.array(metres)


def turned(seed: int, *, degrees: float, over: int, noise_px: float = 0.1) -> Readings:
    """A wrist that turns from one pose to another over so many frames in mid-shot, easing in and out; what is in the hand turns with it. Level 2."""
    readings = held(seed, level=2, noise_px=noise_px)
    share = np.clip((np.arange(FRAMES) - 28) / over, 0, 1)
    turn = Rotation.from_euler("z", (degrees * share**2 * (3 - 2 * share))[:, None], degrees=True)
    t = np.arange(FRAMES) / 24
    hand = np.stack([np.sin(1.1 * t), 0.2 * np.cos(1.7 * t), 0 * t], axis=1)
    handle = hand + turn.apply(np.array([0.02, 0.06, 0.0]))
    random = np.random.default_rng(seed)
    a, b = (
        _track(who, mark, at, turn.as_matrix(), 2, noise_px, random)
        for who, mark, at in (("Ada", "hand_right", hand), ("kite", "handle", handle))
    )
    return replace(readings, acting=(Acting("Ada", 2, {"hand_right": a}), Acting("kite", 2, {"handle": b})))
