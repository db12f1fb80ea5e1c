"""Motion captured from people (BVH files, none of them ours or committed) as readings: level 3, or level 2 with noise, seen by a camera that stands.

BVH says neither unit nor up: y is taken for up unless the body lies along z, and it is scaled to a person of 1.7 m.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.geometry.cameras import lens_from_fov, project, to_camera
from shotcrit.readings.acting import Acting, CameraView, MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.scene.bvh import read_bvh
from shotcrit.readings.scene.model import Sampling
from tests.make.two_hander import look_at_matrix, movie_info

TALL_M = 1.7
SKIPPED = 2
"""Frames at the start: a T-pose stands there in many files."""
JOINTS = {
    "hips": r"hips?",
    "chest": r"(spine1|chest2|spine2|chest|spine)",
    "head_top": r"head",
    "shoulder_left": r"(leftarm|leftshoulder)",
    "shoulder_right": r"(rightarm|rightshoulder)",
    "hand_left": r"(lefthand|leftwrist)",
    "hand_right": r"(righthand|rightwrist)",
    "knee_left": r"(leftleg|leftknee)",
    "knee_right": r"(rightleg|rightknee)",
    "foot_left": r"(leftfoot|leftankle)",
    "foot_right": r"(rightfoot|rightankle)",
}


def captured(path: Path, *, level: int = 3, noise_px: float = 0.3, seed: int = 0, rate: int = 24, most_s: float = 20.0) -> Readings:
    """One person, named Ada, from frame SKIPPED of a file on, at `rate` frames a second. Raises ValueError for a file without hands, feet or hips."""
    frames = _length(path, rate)
    scene = read_bvh(path, Sampling(np.arange(SKIPPED, frames) / rate, float(rate), 1), metres_per_unit=1.0)
    world = {mark: node for mark, names in JOINTS.items() if (node := _node(scene.nodes, names)) is not None}
    if not {"hips", "hand_left", "foot_left", "head_top"} <= set(world):
        raise ValueError(f"{path.name} has no body that is known by its joints' names")
    world = _upright(world)
    few = slice(0, round(most_s * rate))
    return readings_of({mark: at[few] for mark, at in world.items()}, level=level, noise_px=noise_px, seed=seed, rate=rate)


def readings_of(
    world: dict[str, np.ndarray], *, level: int, noise_px: float = 0.3, seed: int = 0, rate: int = 24, who: str = "Ada"
) -> Readings:
    """world : by mark, metres, y up [shape=(n, 3)]. A standing camera frames all of it, seen from its side of the greatest spread."""
    n = len(next(iter(world.values())))
    whole = np.concatenate(list(world.values()))
    middle, spread = (whole.min(axis=0) + whole.max(axis=0)) / 2, np.ptp(whole, axis=0)
    away = 1.3 * max(spread[1], spread[0] * 9 / 16, 1.0) + spread[2] / 2
    pose = look_at_matrix(middle + np.array([0.15 * away, 0.1 * away, 1.4 * away]), middle)
    lens = lens_from_fov(40.0, width=1920, height=1080)
    view = CameraView(lens.matrix.astype(np.float32), pose.astype(np.float32))
    random = np.random.default_rng(seed)
    marks = {}
    for name, at in world.items():
        px = project(to_camera(at, pose), lens)
        if level == 2:
            px = px + random.normal(0, noise_px, px.shape)
        error = np.full(n, noise_px if level == 2 else 0, np.float32)
        xy = (px / (1920, 1080)).astype(np.float32)
        marks[name] = MarkTrack(who, name, xy, error, world=at.astype(np.float32) if level == 3 else None)
    return Readings(
        movie=movie_info(n, Fraction(rate)), clock=FrameClock.steady(Fraction(rate), n), cast=parse_cast({"characters": [{"name": who}]}, name="c"),
        acting=(Acting(who, level, marks),), cameras=(view,) * n if level == 3 else (),
    )  # fmt: skip


def _length(path: Path, rate: int) -> int:
    text = path.read_text(errors="replace")
    rows = int(re.search(r"Frames:\s*(\d+)", text)[1])
    step = float(re.search(r"Frame Time:\s*([0-9.eE+-]+)", text)[1])
    return int((rows - 1) * step * rate)


def _node(nodes: dict[str, np.ndarray], names: str) -> np.ndarray | None:
    """Places [shape=(n, 3)] of the first node whose name, less a prefix, is one of these."""
    for wanted in names.strip("()").split("|"):
        for name, matrices in nodes.items():
            if re.fullmatch(wanted, name.lower().rsplit(":", 1)[-1].replace("_", "")):
                return np.asarray(matrices[:, :3, 3], np.float64)
    return None


def _upright(world: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Metres, y up."""
    along = np.median(world["head_top"] - (world["foot_left"] + world.get("foot_right", world["foot_left"])) / 2, axis=0)
    axis = int(np.argmax(np.abs(along)))
    turn = np.eye(3)
    if axis == 2:
        turn = np.array([[1.0, 0, 0], [0, 0, 1.0], [0, -1.0, 0]]) * np.array([[1.0], [np.sign(along[2])], [np.sign(along[2])]])
    size = 0.9 * TALL_M / np.linalg.norm(along)
    return {mark: size * at @ turn.T for mark, at in world.items()}
