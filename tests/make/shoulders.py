"""A plain shoulder before a background that is another thing: how high it stands on each frame is known exactly. Nothing of it can be followed but its outline.

The outline is a curve drawn anew on every frame, three times too large, and averaged down; the camera wanders, so that background and body drift together.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.cast import Cast, Character, Placed
from tests.make.moving import Frames, noise_texture

SIZE = (480, 270)
OVER = 3
RATE = 24
MARK, BELT = (230.0, 96.0), (235.0, 236.0)
"""px on frame 0: where the shoulder is marked (two px under its outline), and the textured belt at the hips."""


@dataclass(frozen=True)
class Shoulder:
    """frames : uint8 luma; lift : px, up, float64 [shape=(n_frames,)]; camera : px, [shape=(n_frames, 2)], how everything drifts; cast : marks on frame 0"""

    frames: Frames
    lift: npt.NDArray[np.float64]
    camera: npt.NDArray[np.float64]
    cast: Cast

    @property
    def height(self) -> npt.NDArray[np.float64]:
        """px, up: how far the mark stands above its place on frame 0"""
        return self.lift - self.lift[0] - (self.camera[:, 1] - self.camera[0, 1])


def breath_rise(frames: int, first: int, length: int) -> npt.NDArray[np.float64]:
    """0 to 1 over `length` frames from `first` on, let go over a second."""
    t = np.arange(frames) - first
    up, down = np.clip(t / length, 0, 1), np.clip((t - length - 3) / RATE, 0, 1)
    return np.asarray((0.5 - 0.5 * np.cos(np.pi * up)) * (0.5 + 0.5 * np.cos(np.pi * down)))


def shoulder(
    seed: int, lift_px: float, *, frames: int = 60, slope: float = 0.25, bend: float = 0.002, wander: float = 14.0, noise: float = 2.0,
    cloth: float = 70.0, back: float = 150.0, busy: float = 18.0, belt: bool = True,
) -> Shoulder:  # fmt: skip
    """slope, bend : of the outline; cloth, back : grey of either side, equal ones leave no outline; busy : contrast of the background; belt : if marked"""
    rng = np.random.default_rng(seed)
    t = np.arange(frames) / RATE
    phases = rng.uniform(0, 6, 4)
    x = wander * np.sin(2 * np.pi * rng.uniform(0.1, 0.3) * t + phases[0])
    y = 0.4 * wander * np.sin(2 * np.pi * rng.uniform(0.1, 0.3) * t + phases[1])
    camera = np.stack([x - x[0], y - y[0]], axis=1)
    lift = lift_px * breath_rise(frames, 24, 11)
    behind = noise_texture(max(SIZE) + 200, grain=5, seed=seed + 1, contrast=busy) - 128 + back
    girdle = noise_texture(max(SIZE) + 200, grain=2, seed=seed + 2, contrast=40) - 128 + cloth
    pictures = [_paint(camera[i], lift[i], behind, girdle, (slope, bend), cloth, noise, rng) for i in range(frames)]
    marks = {"shoulder_left": (_placed(MARK),), **({"hips": (_placed(BELT),)} if belt else {})}
    return Shoulder(pictures, lift, camera, Cast(characters=(Character(name="Oona", marks=marks),)))


def _placed(spot: tuple[float, float]) -> Placed:
    return Placed(frame=1, x=(spot[0] + 0.5) / SIZE[0], y=(spot[1] + 0.5) / SIZE[1])


def _paint(camera, lift, behind, girdle, shape, cloth, noise, rng):  # type: ignore[no-untyped-def]
    wide, high = SIZE
    drift = np.float64([[1, 0, camera[0] - 100], [0, 1, camera[1] - 100]])
    picture = cv2.warpAffine(behind, drift, SIZE, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    belt = cv2.warpAffine(girdle, drift, SIZE, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    x = (np.arange(wide * OVER) + 0.5) / OVER - 0.5 - MARK[0] - camera[0]
    top = MARK[1] - 2 + camera[1] - lift + shape[0] * x + shape[1] * x**2
    rows = (np.arange(high * OVER) + 0.5) / OVER - 0.5
    inside = np.clip(OVER * (rows[:, None] - top[None]) + 0.5, 0, 1).astype(np.float32)
    cover = cv2.GaussianBlur(cv2.resize(inside, SIZE, interpolation=cv2.INTER_AREA), (0, 0), 0.7)
    y = np.arange(high)[:, None] - camera[1]
    body = np.where(y > BELT[1] - 20, belt, cloth + 0.05 * (y - MARK[1]))
    lit = cover * body + (1 - cover) * picture + noise * rng.standard_normal((high, wide))
    _, packed = cv2.imencode(".jpg", np.clip(np.rint(lit), 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 88])
    return cv2.imdecode(packed, cv2.IMREAD_GRAYSCALE)
