"""The puppets' nodes: names, parents, rest places; forward and inverse kinematics over all frames at once.

Metres, y up, right-handed. A character at rest faces +z, so its own left is +x. Quaternions are (x, y, z, w).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial.transform import Rotation

HEAD_M = 0.30
"""Height of a head; all face sculpting is in fractions of it."""
HEAD_AT = np.array([0.0, 0.36, 0.07]) * HEAD_M
"""The sculpture's centre in the head node's frame, whose origin is the top of the neck."""
SIDES = (("left", 1.0), ("right", -1.0))
UPPER_ARM_M, FOREARM_M = 0.175, 0.165
THIGH_M, SHIN_M = 0.25, 0.25


@dataclass
class Rig:
    """parents : node -> parent or None, parents first; rest : node -> translation in the parent's frame."""

    parents: dict[str, str | None] = field(default_factory=dict)
    rest: dict[str, np.ndarray] = field(default_factory=dict)

    def add(self, name: str, parent: str | None, at=(0.0, 0.0, 0.0)) -> None:
        self.parents[name] = parent
        self.rest[name] = np.asarray(at, float)


@dataclass
class Pose:
    """Frame-by-frame local transforms; a node that is not named stays at rest.

    move : node -> [n, 3]; turn : node -> [n, 4]; scale : node -> [n, 3]; morphs : character -> morph -> [n]
    """

    n: int
    move: dict[str, np.ndarray] = field(default_factory=dict)
    turn: dict[str, np.ndarray] = field(default_factory=dict)
    scale: dict[str, np.ndarray] = field(default_factory=dict)
    morphs: dict[str, dict[str, np.ndarray]] = field(default_factory=dict)

    def local(self, rig: Rig, node: str) -> np.ndarray:
        """[n, 4, 4]."""
        out = np.tile(np.eye(4), (self.n, 1, 1))
        if node in self.turn:
            out[:, :3, :3] = Rotation.from_quat(self.turn[node]).as_matrix()
        if node in self.scale:
            out[:, :3, :3] *= self.scale[node][:, None, :]
        out[:, :3, 3] = self.move.get(node, rig.rest[node])
        return out

    def world(self, rig: Rig, node: str) -> np.ndarray:
        """[n, 4, 4], the chain of parents multiplied."""
        out = self.local(rig, node)
        parent = rig.parents[node]
        while parent is not None:
            out = self.local(rig, parent) @ out
            parent = rig.parents[parent]
        return out


def character(rig: Rig, who: str, *, face: Mapping[str, np.ndarray], chest_y: float, shoulder_x: float) -> None:
    """Add one character. `face` gives rest places of face nodes, in the sculpture's fractions of head height."""
    name = lambda part: f"{who}_{part}"  # noqa: E731
    rig.add(name("root"), None)
    rig.add(name("hips"), name("root"), (0, 0.40, 0))
    rig.add(name("spine"), name("hips"), (0, 0.08, 0))
    rig.add(name("chest"), name("spine"), (0, chest_y, 0))
    rig.add(name("ribs"), name("chest"))
    rig.add(name("chest_mark"), name("ribs"), (0, 0.085, 0.104))
    rig.add(name("neck"), name("chest"), (0, 0.165, 0.0))
    rig.add(name("head"), name("neck"), (0, 0.05, 0.005))
    rig.add(name("jaw"), name("head"), HEAD_AT + face["jaw"] * HEAD_M)
    for part, at in face.items():
        if part != "jaw":
            _face_node(rig, who, part, at, face)
    for side, sign in SIDES:
        rig.add(name(f"shoulder_{side}"), name("chest"), (sign * shoulder_x, 0.115, 0))
        rig.add(name(f"arm_{side}"), name(f"shoulder_{side}"))
        rig.add(name(f"forearm_{side}"), name(f"arm_{side}"), (0, -UPPER_ARM_M, 0))
        rig.add(name(f"hand_{side}"), name(f"forearm_{side}"), (0, -FOREARM_M, 0))
        rig.add(name(f"palm_{side}"), name(f"hand_{side}"), (0, -0.055, 0.004))
        rig.add(name(f"thigh_{side}"), name("hips"), (sign * 0.075, -0.02, 0.03))
        rig.add(name(f"knee_{side}"), name(f"thigh_{side}"), (0, -THIGH_M, 0))
        rig.add(name(f"foot_{side}"), name(f"knee_{side}"), (0, -SHIN_M, 0))


def _face_node(rig: Rig, who: str, part: str, at: np.ndarray, face: Mapping[str, np.ndarray]) -> None:
    if part in ("chin", "tongue"):
        rig.add(f"{who}_{part}", f"{who}_jaw", (at - face["jaw"]) * HEAD_M)
    elif part.startswith("iris_"):
        eye = part.replace("iris", "eye")
        rig.add(f"{who}_{part}", f"{who}_{eye}", (at - face[eye]) * HEAD_M)
    elif part.startswith("lidmark_"):
        lid = part.replace("lidmark", "lid")
        rig.add(f"{who}_{part}", f"{who}_{lid}", at * HEAD_M)
    else:
        rig.add(f"{who}_{part}", f"{who}_head", HEAD_AT + at * HEAD_M)


def euler(yaw=0.0, pitch=0.0, roll=0.0, *, n: int) -> np.ndarray:
    """Quaternions [n, 4] from degrees: yaw about y (towards the own left), pitch about x (down is positive), roll about z."""
    angles = np.stack([np.broadcast_to(np.asarray(a, float), (n,)) for a in (yaw, pitch, roll)], -1)
    return Rotation.from_euler("YXZ", angles, degrees=True).as_quat()


def reach(start: np.ndarray, goal: np.ndarray, upper: float, lower: float, pole: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Two bones that hang along -y: world rotations [n, 3, 3] of both, so that the end of the second is at `goal`.

    A goal out of reach is met as far as the bones go. `pole` is the direction, world, that the joint points to.
    """
    line = goal - start
    far = np.linalg.norm(line, axis=1, keepdims=True)
    along = line / far
    far = np.clip(far, abs(upper - lower) + 1e-4, upper + lower - 1e-4)
    cosine = (upper**2 + far**2 - lower**2) / (2 * upper * far)
    bend = pole - np.sum(pole * along, axis=1, keepdims=True) * along
    bend /= np.linalg.norm(bend, axis=1, keepdims=True)
    joint = start + along * upper * cosine + bend * upper * np.sqrt(np.clip(1 - cosine**2, 0, 1))
    end = start + along * far
    return _bone(joint - start, bend), _bone(end - joint, bend)


def _bone(down: np.ndarray, front: np.ndarray) -> np.ndarray:
    """Rotations whose -y is `down` and whose +z leans to `front`."""
    y = -down / np.linalg.norm(down, axis=1, keepdims=True)
    x = np.cross(y, front)
    x /= np.linalg.norm(x, axis=1, keepdims=True)
    return np.stack([x, y, np.cross(x, y)], -1)


def to_local(parent_world: np.ndarray, rotation: np.ndarray) -> np.ndarray:
    """Quaternions [n, 4] of world rotations inside a parent; the parent's scale is taken out."""
    base = parent_world[:, :3, :3]
    base = base / np.linalg.norm(base, axis=1, keepdims=True)
    return Rotation.from_matrix(np.swapaxes(base, 1, 2) @ rotation).as_quat()


def aim(direction: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Yaw and pitch in degrees that turn +z onto `direction` [n, 3] (see euler for signs)."""
    yaw = np.degrees(np.arctan2(direction[:, 0], direction[:, 2]))
    pitch = -np.degrees(np.arctan2(direction[:, 1], np.hypot(direction[:, 0], direction[:, 2])))
    return yaw, pitch
