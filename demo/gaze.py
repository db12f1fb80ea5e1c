"""Eyes: what they aim at, how they get there, and the lids that go with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial.transform import Rotation

import story
from curves import blink, eased, follow, ramp
from rig import SIDES, Pose, Rig, aim, euler

if TYPE_CHECKING:
    from acting import Faults

DART_FRAMES = 2.0
FARTHEST_DEG = 47.0
"""How far an eye turns in the head."""
OPEN_UP, OPEN_DOWN, SHUT = -31.0, 25.0, 13.0
"""Pitch of the lids in degrees: upper open, lower open, both shut."""


def between_eyes(pose: Pose, rig: Rig, who: str) -> np.ndarray:
    left, right = (pose.world(rig, f"{who}_eye_{side}")[:, :3, 3] for side in ("left", "right"))
    return (left + right) / 2


def _target(pose: Pose, rig: Rig, name: str) -> np.ndarray:
    if name in story.POINTS:
        return np.tile(np.asarray(story.POINTS[name], float), (pose.n, 1))
    if name == "lens":
        return pose.world(rig, "CamB")[:, :3, 3]
    if name == "grip":
        return pose.world(rig, "Lantern")[:, :3, 3]
    if name == "flame":
        return pose.world(rig, "Lantern_flame")[:, :3, 3]
    return between_eyes(pose, rig, name)


def look(pose: Pose, rig: Rig, who: str, u: np.ndarray, faults: Faults) -> np.ndarray:
    """Turn both eyes; answers the point that should be looked at, world [n, 3]."""
    looks = story.LOOKS[who]
    at = _target(pose, rig, looks[0][1])
    for frame, name in looks[1:]:
        part = ramp(u, frame - 0.5, frame - 0.5 + DART_FRAMES) if frame not in story.CUTS else (u >= frame).astype(float)
        at = at + part[:, None] * (_target(pose, rig, name) - at)
    head = pose.world(rig, f"{who}_head")[:, :3, :3]
    pitches = []
    for side, _ in SIDES:
        origin = pose.world(rig, f"{who}_eye_{side}")[:, :3, 3]
        direction = np.einsum("nji,nj->ni", head, _raised(at - origin, who, u, faults))
        yaw, pitch = aim(direction)
        pose.turn[f"{who}_eye_{side}"] = euler(
            np.clip(yaw, -FARTHEST_DEG, FARTHEST_DEG), np.clip(pitch, -FARTHEST_DEG, FARTHEST_DEG), n=pose.n
        )
        pitches.append(pitch)
    _lids(pose, who, u, np.mean(pitches, axis=0), faults)
    return at


def _raised(direction: np.ndarray, who: str, u: np.ndarray, faults: Faults) -> np.ndarray:
    """The planted fault: turned up by some degrees about the level axis across the line of sight."""
    out = direction / np.linalg.norm(direction, axis=1, keepdims=True)
    for name, first, last, degrees in faults.eyes_up:
        if name != who:
            continue
        part = (u >= first) * (1 - ramp(u, last + 0.5, last + 2.5))
        across = np.cross(out, np.array([0.0, 1.0, 0.0]))
        across /= np.linalg.norm(across, axis=1, keepdims=True)
        out = Rotation.from_rotvec(across * np.radians(degrees * part)[:, None]).apply(out)
    return out


def _lids(pose: Pose, who: str, u: np.ndarray, pitch: np.ndarray, faults: Faults) -> None:
    missing = [(first, last) for name, first, last in faults.no_blinks if name == who]
    shut = blink(u, [b for b in story.BLINKS[who] if not any(f <= b <= la for f, la in missing)])
    squint, up = eased(story.CURVES[who]["squint"], u), eased(story.CURVES[who]["brow_up"], u)
    down = follow(np.clip(pitch, -15, 30), 0.6)
    angles = lid_angles(down, shut, squint, up)
    for side, _ in SIDES:
        for part, angle in zip(("upper", "lower"), angles, strict=True):
            pose.turn[f"{who}_lid_{part}_{side}"] = euler(0, angle, n=pose.n)


def lid_angles(down: np.ndarray, shut: np.ndarray, squint: np.ndarray, brow_up: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Pitch of upper and lower lid, degrees: they follow the eyes, narrow with a squint, and meet when shut is 1."""
    upper = OPEN_UP + 8 * squint - 4 * np.clip(brow_up, 0, 1) + 0.62 * down
    lower = OPEN_DOWN - 10 * squint + 0.25 * down
    return upper + shut * (SHUT + 1 - upper), lower + shut * (SHUT + 1 - lower)
