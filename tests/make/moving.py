"""Textured things that move on known paths: films of luma frames in which every point's place is known exactly.

Two painters, so that nothing is tuned to one: `cloth` is smooth noise warped by a homography-free affine path, `disc_field` is a plane of hard-edged
discs drawn anew on every frame at their true places (no resampling of pixels at all).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Frames = list[npt.NDArray[np.uint8]]
OVER = 3
"""Every frame is painted this many times larger and averaged down."""


@dataclass(frozen=True)
class Moving:
    """frames : uint8 luma; truth : float32 [shape=(n_marks, n_frames, 2)] px, pixel centres at whole numbers, nan where covered"""

    frames: Frames
    truth: npt.NDArray[np.float32]


def path(frames: int, *, swing: float = 60, turn: float = 0.25, grow: float = 0.12, seed: int = 0) -> npt.NDArray[np.float64]:
    """Affine maps [shape=(frames, 2, 3)] about the origin: a smooth wander with turn and scale, the identity-like pose on frame 0."""
    rng = np.random.default_rng(seed)
    t = np.arange(frames) / 24
    wave = [np.sin(2 * np.pi * rng.uniform(0.2, 0.7) * t + p) - np.sin(p) for p in rng.uniform(0, 6, 4)]
    angle, scale = turn * wave[0], 1 + grow * wave[1]
    maps = np.zeros((frames, 2, 3))
    maps[:, 0, 0], maps[:, 0, 1] = scale * np.cos(angle), -scale * np.sin(angle)
    maps[:, 1, 0], maps[:, 1, 1] = scale * np.sin(angle), scale * np.cos(angle)
    maps[:, 0, 2], maps[:, 1, 2] = swing * wave[2], 0.5 * swing * wave[3]
    return maps


def noise_texture(side: int, *, grain: float, seed: int, contrast: float = 45) -> npt.NDArray[np.float32]:
    """float32 [shape=(side, side)]: smooth noise of three sizes around mid grey."""
    rng = np.random.default_rng(seed)
    total = np.zeros((side, side), np.float32)
    for size, share in ((grain, 1.0), (3 * grain, 1.2), (9 * grain, 1.5)):
        layer = cv2.GaussianBlur(rng.standard_normal((side, side)).astype(np.float32), (0, 0), size)
        total += share * layer / layer.std()
    return 128 + contrast * total / total.std()


def cloth(
    size: tuple[int, int], maps: npt.NDArray[np.float64], points: npt.NDArray[np.float64], *, seed: int = 1, blur: float = 0.5,
    shading: float = 0.25, noise: float = 1.5, quality: int | None = 85, radius: float = 150,
) -> Moving:  # fmt: skip
    """A round textured thing about the picture's middle, moved by `maps`, over a textured background that drifts the other way.

    points : [shape=(n, 2)] px from the thing's middle; blur : part of a frame that the shutter is open; shading : how far light changes, 0..1
    quality : of the JPEG that each frame goes through; None for none
    """
    wide, high = size
    rng = np.random.default_rng(seed)
    skin = noise_texture(2 * int(radius) + 200, grain=2.2, seed=seed)
    back = noise_texture(max(size) + 300, grain=4, seed=seed + 1, contrast=25)
    middle = np.array([wide / 2, high / 2])
    frames = []
    for i, now in enumerate(maps):
        parts = [_cloth_at(size, skin, back, m, middle, radius, i) for m in _shutter(maps, i, blur)]
        frame = np.mean(parts, axis=0)
        frames.append(finish(frame, i, len(maps), shading, noise, quality, rng))
        del now
    truth = np.stack([points @ m[:, :2].T + m[:, 2] + middle for m in maps], axis=1)
    return Moving(frames, truth.astype(np.float32))


def _shutter(maps: npt.NDArray[np.float64], index: int, blur: float) -> Iterator[npt.NDArray[np.float64]]:
    """Poses within the open shutter, centred on the frame, so that the truth is the middle of the blur."""
    before, after = maps[max(0, index - 1)], maps[min(len(maps) - 1, index + 1)]
    slope = (after - before) / 2
    for part in np.linspace(-blur / 2, blur / 2, 5 if blur else 1):
        yield maps[index] + part * slope


def _cloth_at(size, skin, back, m, middle, radius, index):  # type: ignore[no-untyped-def]
    half = skin.shape[0] / 2 - 0.5
    to_picture = np.hstack([m[:, :2], (m[:, 2] + middle - m[:, :2] @ [half, half])[:, None]])
    thing = cv2.warpAffine(skin, to_picture, size, flags=cv2.INTER_CUBIC)
    yy, xx = np.mgrid[0 : skin.shape[0], 0 : skin.shape[1]]
    round_ = np.clip(radius - np.hypot(xx - half, yy - half) + 0.5, 0, 1).astype(np.float32)
    cover = cv2.warpAffine(round_, to_picture, size, flags=cv2.INTER_LINEAR)
    drift = np.float64([[1, 0, -100 - 0.7 * index], [0, 1, -100 + 0.2 * index]])
    behind = cv2.warpAffine(back, drift, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    return cover * thing + (1 - cover) * behind


def finish(frame, index, count, shading, noise, quality, rng):  # type: ignore[no-untyped-def]
    """Light that changes over time and across the picture, grain, 8 bits, compression."""
    wide = frame.shape[1]
    phase = 2 * np.pi * index / max(count, 1)
    across = np.linspace(-1, 1, wide, dtype=np.float32)[None] * np.sin(phase)
    lit = frame * (1 - shading * (0.5 - 0.5 * np.cos(phase)) * 0.7) * (1 + 0.4 * shading * across)
    lit = lit + noise * rng.standard_normal(frame.shape)
    picture = np.clip(np.rint(lit), 0, 255).astype(np.uint8)
    if quality is None:
        return picture
    _, packed = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return cv2.imdecode(packed, cv2.IMREAD_GRAYSCALE)


def disc_field(
    size: tuple[int, int], maps: npt.NDArray[np.float64], points: npt.NDArray[np.float64], *, seed: int = 3, noise: float = 1.0,
    quality: int | None = 85, shading: float = 0.2,
) -> Moving:  # fmt: skip
    """A plane of hard-edged discs of many greys, each drawn where it truly is (8 fractional bits), anti-aliased; moved by `maps`."""
    rng = np.random.default_rng(seed)
    wide, high = size
    middle = np.array([wide / 2, high / 2])
    spread = max(size)
    at = rng.uniform(-spread, spread, (9000, 2))
    radii, greys = rng.uniform(2, 9, 9000), rng.uniform(40, 220, 9000)
    frames = []
    for i, m in enumerate(maps):
        frame = np.full((high * OVER, wide * OVER), 120, np.uint8)
        spots = ((at @ m[:, :2].T + m[:, 2] + middle + 0.5) * OVER - 0.5) * 256
        grow = np.sqrt(abs(np.linalg.det(m[:, :2])))
        for (x, y), r, g in zip(spots, radii, greys, strict=True):
            if -20 * 768 < x < (wide + 20) * 768 and -20 * 768 < y < (high + 20) * 768:
                cv2.circle(frame, (round(x), round(y)), round(r * grow * OVER * 256), int(g), -1, cv2.LINE_AA, 8)
        small = cv2.resize(frame, size, interpolation=cv2.INTER_AREA).astype(np.float32)
        frames.append(finish(small, i, len(maps), shading, noise, quality, rng))
    truth = np.stack([points @ m[:, :2].T + m[:, 2] + middle for m in maps], axis=1)
    return Moving(frames, truth.astype(np.float32))


def cover(film: Moving, first: int, last: int, *, speed: float, width: float, seed: int = 9) -> Moving:
    """A textured board of `width` px slides over the picture from screen left, starting at frame `first`; frames after `last` lose it at once.

    A point is covered (nan) while the board lies over it.
    """
    high, wide = film.frames[0].shape
    board = noise_texture(high + int(width), grain=3, seed=seed, contrast=35)[:high, : int(width)]
    frames, truth = list(film.frames), film.truth.copy()
    for i in range(first, min(last + 1, len(frames))):
        left = -width + speed * (i - first + 1)
        place = np.float64([[1, 0, left], [0, 1, 0]])
        alpha = cv2.warpAffine(np.ones_like(board), place, (wide, high))
        frame = frames[i] * (1 - alpha) + cv2.warpAffine(board, place, (wide, high)) * alpha
        frames[i] = np.clip(np.rint(frame), 0, 255).astype(np.uint8)
        over = (truth[:, i, 0] > left) & (truth[:, i, 0] < left + width)
        truth[over, i] = np.nan
    return Moving(frames, truth)
