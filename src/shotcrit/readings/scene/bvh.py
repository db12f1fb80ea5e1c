"""BVH motion: joints, offsets, channels, frames. The format has no unit and no camera; its y is up by custom."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shotcrit.errors import InputError
from shotcrit.readings.scene.model import BIGGEST_SCENE, MOST_NODES, Sampling, Scene, check_nodes
from shotcrit.readings.scene.transforms import world_matrices

Array = npt.NDArray[np.float64]
_AXES = {"X": 0, "Y": 1, "Z": 2}
MOST_FRAMES = 1_000_000
"""Frames; above this a file is refused as hostile (guess: nine hours at 30)."""
MOST_CHANNELS = 9
"""Channels of a joint: place, turn and size in three axes each."""


@dataclass
class _Joint:
    name: str
    parent: int
    offset: tuple[float, float, float] = (0.0, 0.0, 0.0)
    channels: list[str] = field(default_factory=list)


def read_bvh(path: Path, sampling: Sampling, *, metres_per_unit: float) -> Scene:
    """Read a BVH file at the movie's frames. Raises InputError, one sentence, for anything that is no sound BVH."""
    try:
        if path.stat().st_size > BIGGEST_SCENE:
            raise InputError(f"{path} is larger than {BIGGEST_SCENE >> 30} GB; export only the joints that matter")
        words = path.read_text(encoding="utf-8", errors="strict").split()
        joints, rows, frame_s = _parse(words)
    except OSError as problem:
        raise InputError(f"{path} cannot be read ({problem.strerror or problem}); give a scene file that exists") from problem
    except (ValueError, IndexError, UnicodeDecodeError) as problem:
        reason = str(problem) if type(problem) is ValueError else "it ends or breaks off where something must follow"
        raise InputError(f"{path} is not a sound BVH file ({reason}); export it again") from problem
    try:
        check_nodes(len(joints), len(sampling.seconds))
    except InputError as problem:
        raise InputError(f"{path} cannot be read ({problem}); export only the joints that matter") from problem
    times = np.clip((sampling.seconds + sampling.offset_s) / frame_s, 0, len(rows) - 1)
    local = _local_matrices(joints, rows, times, metres_per_unit)
    world = world_matrices(local, [joint.parent for joint in joints])
    still = world_matrices([_rest_matrix(joint, metres_per_unit) for joint in joints], [joint.parent for joint in joints])
    names = [joint.name for joint in joints]
    return Scene(
        name=path.name,
        kind="BVH",
        nodes=dict(zip(names, world, strict=True)),
        rest={name: matrix[0] for name, matrix in zip(names, still, strict=True)},
        says=_notes(rows, frame_s, sampling, metres_per_unit),
    )


def _notes(rows: Array, frame_s: float, sampling: Sampling, metres_per_unit: float) -> tuple[str, ...]:
    said = [f"BVH carries no unit: one unit is taken as {metres_per_unit:g} m (metres_per_unit of the cast)"]
    if abs(1 / frame_s - sampling.rate) > 0.01 * sampling.rate:
        said.append(f"the motion runs at {1 / frame_s:.3g} frames a second, the movie at {sampling.rate:.5g}; it is matched by time")
    if len(rows) * frame_s + 1 / sampling.rate < sampling.seconds[-1] + sampling.offset_s:
        said.append("the motion ends before the movie; its last pose is held")
    return tuple(said)


def _parse(words: list[str]) -> tuple[list[_Joint], Array, float]:
    joints: list[_Joint] = []
    at = _hierarchy(words, joints)
    if words[at : at + 2] != ["MOTION", "Frames:"] or words[at + 3 : at + 5] != ["Frame", "Time:"]:
        raise ValueError("MOTION does not follow the joints")
    frames, frame_s = int(words[at + 2]), float(words[at + 5])
    count = sum(len(joint.channels) for joint in joints)
    if not 0 < frames <= MOST_FRAMES or not 0 < frame_s < 10 or not count:
        raise ValueError("it has no frames, no channels or no frame time")
    values = np.array(words[at + 6 :], np.float64)
    if len(values) < frames * count or not np.isfinite(values).all():
        raise ValueError("it promises more numbers than it holds")
    return joints, values[: frames * count].reshape(frames, count), frame_s


def _hierarchy(words: list[str], joints: list[_Joint]) -> int:
    if not words or words[0] != "HIERARCHY":
        raise ValueError("it does not begin with HIERARCHY")
    stack: list[int] = []
    names: set[str] = set()
    at = 1
    while words[at] != "MOTION":
        word = words[at]
        if word in ("ROOT", "JOINT"):
            if words[at + 1] in names:
                raise ValueError(f"two joints are named {words[at + 1][:60]}")
            names.add(words[at + 1])
            joints.append(_Joint(words[at + 1], stack[-1] if stack else -1))
            stack.append(len(joints) - 1)
            at += 3
        elif word == "End":
            joints.append(_Joint(f"{joints[stack[-1]].name}_end", stack[-1]))
            stack.append(len(joints) - 1)
            at += 3
        elif word == "OFFSET":
            joints[stack[-1]].offset = (float(words[at + 1]), float(words[at + 2]), float(words[at + 3]))
            if not np.isfinite(joints[stack[-1]].offset).all():
                raise ValueError(f"{joints[stack[-1]].name[:60]} has an offset that is no number")
            at += 4
        elif word == "CHANNELS":
            n = int(words[at + 1])
            if not 0 <= n <= MOST_CHANNELS:
                raise ValueError(f"a joint has {words[at + 1][:20]} channels")
            joints[stack[-1]].channels = [_channel(name) for name in words[at + 2 : at + 2 + n]]
            at += 2 + n
        elif word == "}":
            stack.pop()
            at += 1
        else:
            raise ValueError(f"'{word[:20]}' stands where a joint should")
        if len(joints) > MOST_NODES:
            raise ValueError("it has too many joints")
    return at


def _channel(name: str) -> str:
    if len(name) < 9 or name[0] not in _AXES or name[1:] not in ("position", "rotation"):
        raise ValueError(f"'{name[:20]}' is no channel")
    return name


def _rest_matrix(joint: _Joint, metres: float) -> Array:
    matrix = np.eye(4)[None]
    matrix[0, :3, 3] = np.array(joint.offset) * metres
    return matrix


def _local_matrices(joints: list[_Joint], rows: Array, times: Array, metres: float) -> list[Array]:
    low = np.floor(times).astype(int)
    high = np.minimum(low + 1, len(rows) - 1)
    part = times - low
    out, column = [], 0
    for joint in joints:
        n = len(joint.channels)
        a, b = rows[low, column : column + n], rows[high, column : column + n]
        # Angles take the shorter way round, so that 359 to 1 degree is a turn of 2.
        turn = np.array([name.endswith("rotation") for name in joint.channels], bool)
        step = np.where(turn, (b - a + 180) % 360 - 180, b - a) if n else b - a
        out.append(_joint_matrices(joint, a + part[:, None] * step, metres))
        column += n
    return out


def _joint_matrices(joint: _Joint, values: Array, metres: float) -> Array:
    out = np.repeat(np.eye(4)[None], len(values), axis=0)
    place = np.repeat(np.array(joint.offset)[None], len(values), axis=0)
    for index, name in enumerate(joint.channels):
        axis = _AXES[name[0]]
        if name.endswith("position"):
            place[:, axis] = values[:, index]
        else:
            out[:, :3, :3] = out[:, :3, :3] @ _axis_turn(axis, np.radians(values[:, index]))
    out[:, :3, 3] = place * metres
    return out


def _axis_turn(axis: int, angle: Array) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    turn = np.zeros((len(angle), 3, 3))
    i, j = (axis + 1) % 3, (axis + 2) % 3
    turn[:, axis, axis] = 1
    turn[:, i, i], turn[:, j, j], turn[:, j, i], turn[:, i, j] = c, c, s, -s
    return turn
