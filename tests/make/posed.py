"""Pictures posed frame by frame, so that every dead frame is known: two generators that share no drawing code.

`painted` layers procedural noise textures with numpy; `drawn` draws flat anti-aliased shapes with OpenCV. Both take the same poses,
one a frame; a hold is a stretch of equal poses. Positions are px of the full-size frame.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

Frame = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float32]
SIZE = (960, 540)


@dataclass(frozen=True)
class Pose:
    """Where camera, actor and second actor are, px from their place at rest. `mouth` 0..1 opens the actor's mouth."""

    camera: tuple[float, float] = (0.0, 0.0)
    actor: tuple[float, float] = (0.0, 0.0)
    second: tuple[float, float] = (0.0, 0.0)
    mouth: float = 0.0


@dataclass(frozen=True)
class Grain:
    """Film grain: standard deviation in 8-bit steps; `reseed` draws it anew on every frame."""

    sigma: float = 0.0
    reseed: bool = False


def acting(frames: int, *, dead: Sequence[tuple[int, int]] = (), pan: float = 0.0, second: bool = False, speed: float = 3.0) -> list[Pose]:
    """Poses of a lively actor. `dead` lists (first, last) indices, both in, of frames on which the actor repeats the one before.

    pan : px a frame of camera movement, which never stops; second : a second actor who never stops.
    """
    poses: list[Pose] = []
    clock = 0.0
    for i in range(frames):
        if i and not any(first <= i <= last for first, last in dead):
            clock += 1.0
        swing = (40 * np.sin(clock * speed / 40), 25 * np.sin(clock * speed / 27 + 1))
        other = (30 * np.sin(i / 6.0), 18 * np.cos(i / 6.0)) if second else (0.0, 0.0)
        mouth = 0.5 + 0.5 * np.sin(clock * 0.9)
        poses.append(Pose((pan * i, 0.3 * pan * i), (float(swing[0]), float(swing[1])), other, float(mouth)))
    return poses


def drifting(frames: int, step: float) -> list[Pose]:
    """A moving hold: everything still but the actor, who drifts `step` px a frame."""
    return [Pose(actor=(step * i * 0.8, step * i * 0.6)) for i in range(frames)]


def on_step(poses: Sequence[Pose], step: int) -> list[Pose]:
    """The same poses on twos (step 2) or threes (step 3)."""
    return [poses[i - i % step] for i in range(len(poses))]


def actor_on_step(poses: Sequence[Pose], step: int) -> list[Pose]:
    """The actor on twos or threes, while camera and second actor stay on ones."""
    return [replace(p, actor=poses[i - i % step].actor, mouth=poses[i - i % step].mouth) for i, p in enumerate(poses)]


def with_grain(pictures: Iterable[Frame], grain: Grain) -> Iterator[Frame]:
    """Add grain to each picture."""
    for i, picture in enumerate(pictures):
        if not grain.sigma:
            yield picture
            continue
        noise = np.random.default_rng(1000 + (i if grain.reseed else 0)).normal(0, grain.sigma, picture.shape[:2])
        yield np.clip(picture + noise[..., None], 0, 255).astype(np.uint8)


def painted(poses: Sequence[Pose], size: tuple[int, int] = SIZE, seed: int = 1) -> Iterator[Frame]:
    """Noise textures: a set, an actor and a second actor with textures of their own. RGB uint8 [shape=(h, w, 3)]."""
    width, height = size
    unit = width / SIZE[0]
    rng = np.random.default_rng(seed)
    set_ = _texture(rng, int(width * 1.6), int(height * 1.6), (0.55, 0.6, 0.7))
    body = _texture(rng, width, height, (0.8, 0.55, 0.45))
    friend = _texture(rng, width, height, (0.5, 0.75, 0.5))
    stood: tuple[float, float] | None = None
    for pose in poses:
        camera = np.array(pose.camera)
        if pose.camera != stood:  # a camera that stands sees the same set
            seen, stood = _shift(set_, camera + np.array([width, height]) * 0.3, size), pose.camera
        picture = seen.copy()
        _lay(picture, friend, np.array(pose.second) - camera, (0.76 * width, 0.55 * height), (80 * unit, 130 * unit))
        actor = np.array(pose.actor) - camera
        _lay(picture, body, actor, (0.33 * width, 0.55 * height), (100 * unit, 150 * unit))
        _lay(picture, body * 0.25, actor, (0.33 * width, 0.5 * height), (34 * unit, (2 + 16 * pose.mouth) * unit))
        yield np.clip(picture + 0.5, 0, 255).astype(np.uint8)


def drawn(poses: Sequence[Pose], size: tuple[int, int] = SIZE) -> Iterator[Frame]:
    """Flat shapes over a soft gradient, anti-aliased to 1/16 px. RGB uint8 [shape=(h, w, 3)]."""
    width, height = size
    for pose in poses:
        ramp = (150 + 60 * (np.arange(height) + pose.camera[1]) / height)[:, None, None] * np.array([0.8, 0.9, 1.0])
        picture = np.ascontiguousarray(np.broadcast_to(ramp, (height, width, 3)).round().clip(0, 255).astype(np.uint8))
        camera = np.array(pose.camera)
        for k in range(14):
            at = np.array([(k * 97 % 140 - 20) / 100 * width, (k * 53 % 110) / 100 * height]) - camera
            _poly(picture, at, (30 + 9 * (k % 5)) * width / SIZE[0], 3 + k % 4, (40 + 12 * k, 90, 200 - 9 * k))
        _figure(picture, np.array([0.76 * width, 0.55 * height]) + np.array(pose.second) - camera, 0.8, (90, 140, 70), 0.3)
        _figure(picture, np.array([0.33 * width, 0.55 * height]) + np.array(pose.actor) - camera, 1.0, (200, 120, 70), pose.mouth)
        yield picture


def _texture(rng: np.random.Generator, width: int, height: int, tint: tuple[float, float, float]) -> Floats:
    total = np.zeros((height, width), np.float32)
    for scale, weight in ((64, 1.0), (24, 0.8), (9, 0.5), (4, 0.3)):
        coarse = rng.normal(0, 1, (height // scale + 2, width // scale + 2)).astype(np.float32)
        total += weight * cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    grey = 128 + 42 * total
    return (grey[..., None] * np.array(tint, np.float32) * 1.3).astype(np.float32)


def _shift(layer: Floats, by: npt.NDArray[np.float64], size: tuple[int, int]) -> Floats:
    matrix = np.array([[1, 0, by[0]], [0, 1, by[1]]], np.float32)
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(layer, matrix, size, flags=flags, borderMode=cv2.BORDER_REFLECT), np.float32)


def _lay(under: Floats, texture: Floats, by: npt.NDArray[np.float64], centre: tuple[float, float], radii: tuple[float, float]) -> None:
    """Lay an oval of `texture`, moved `by` px, over `under`; only the box around it is worked on."""
    height, width = under.shape[:2]
    place = np.array(centre) + by
    left, top = (int(max(0, np.floor(place[k] - radii[k] - 2))) for k in (0, 1))
    right, bottom = int(min(width, place[0] + radii[0] + 3)), int(min(height, place[1] + radii[1] + 3))
    if right <= left or bottom <= top:
        return
    y, x = np.mgrid[top:bottom, left:right].astype(np.float32)
    away = np.hypot((x - place[0]) / radii[0], (y - place[1]) / radii[1])
    cover = np.clip((1 - away) * min(radii) / 1.5 + 0.5, 0, 1)[..., None].astype(np.float32)
    moved = _shift(texture, np.array([left, top]) - by, (right - left, bottom - top))
    under[top:bottom, left:right] = under[top:bottom, left:right] * (1 - cover) + moved * cover


_FINE = 4
"""Bits after the point in OpenCV's drawing coordinates: 1/16 px."""


def _points(points: npt.NDArray[np.float64]) -> npt.NDArray[np.int32]:
    return np.round(points * (1 << _FINE)).astype(np.int32)


def _poly(picture: Frame, at: npt.NDArray[np.float64], radius: float, corners: int, colour: tuple[int, int, int]) -> None:
    turn = np.arange(corners) / corners * 2 * np.pi + radius
    points = at + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    cv2.fillPoly(picture, [_points(points)], colour, cv2.LINE_AA, _FINE)


def _figure(picture: Frame, at: npt.NDArray[np.float64], scale: float, colour: tuple[int, int, int], mouth: float) -> None:
    unit = scale * picture.shape[1] / SIZE[0]
    dark = (40, 30, 30)
    _disc(picture, at + np.array([0, 120]) * unit, (70 * unit, 90 * unit), tuple(int(c * 0.7) for c in colour))
    _disc(picture, at, (80 * unit, 95 * unit), colour)
    for side in (-1, 1):
        _disc(picture, at + np.array([side * 30, -20]) * unit, (14 * unit, 18 * unit), (245, 245, 245))
        _disc(picture, at + np.array([side * 30 + 4, -18]) * unit, (6 * unit, 6 * unit), dark)
    _disc(picture, at + np.array([0, 42]) * unit, (30 * unit, (2 + 14 * mouth) * unit), dark)


def _disc(picture: Frame, at: npt.NDArray[np.float64], radii: tuple[float, float], colour: Sequence[int]) -> None:
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    points = at + np.stack([radii[0] * np.cos(turn), radii[1] * np.sin(turn)], axis=1)
    cv2.fillPoly(picture, [_points(points)], tuple(int(c) for c in colour), cv2.LINE_AA, _FINE)
