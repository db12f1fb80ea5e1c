"""A hand that carries a prop, painted: pictures of two textured things that move and turn together, and how far the one slides on the other."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from tests.make.moving import finish, noise_texture, path

SIZE = (480, 270)
FRAMES = 30
HAND, PROP = np.array([-45.0, 10.0]), np.array([45.0, -5.0])
"""Where their marks lie, px from the middle of what moves."""
RADIUS = 34
"""px of the prop's disc: larger than a mark's patch, so that each patch shows one thing."""


def carried(seed: int, slide: npt.NDArray[np.float64], *, turn: float) -> tuple[list[npt.NDArray[np.uint8]], npt.NDArray[np.float64]]:
    """(luma frames, px of both marks [shape=(2, FRAMES, 2)]). slide : [shape=(FRAMES, 2)] px of the prop on the hand, in the hand's own frame"""
    rng = np.random.default_rng(seed)
    hand, prop = noise_texture(700, grain=2.2, seed=2 * seed + 1), noise_texture(700, grain=1.8, seed=2 * seed + 2)
    half = np.array([349.5, 349.5])
    yy, xx = np.mgrid[:700, :700]
    disc = np.clip(RADIUS - np.hypot(xx - half[0] - PROP[0], yy - half[1] - PROP[1]) + 0.5, 0, 1).astype(np.float32)
    middle = np.array(SIZE) / 2
    frames, truth = [], np.zeros((2, FRAMES, 2))
    for index, pose in enumerate(path(FRAMES, swing=20, turn=turn, grow=0, seed=seed)):
        linear, place = pose[:, :2], pose[:, 2] + middle
        by = linear @ slide[index]
        here, there = (np.hstack([linear, (p - linear @ half)[:, None]]) for p in (place, place + by))
        over = cv2.warpAffine(disc, there, SIZE, flags=cv2.INTER_LINEAR)
        frame = (1 - over) * cv2.warpAffine(hand, here, SIZE, flags=cv2.INTER_CUBIC) + over * cv2.warpAffine(
            prop, there, SIZE, flags=cv2.INTER_CUBIC
        )
        frames.append(finish(frame, index, FRAMES, 0.2, 1.5, 85, rng))
        truth[:, index] = linear @ HAND + place, linear @ PROP + place + by
    return frames, truth
