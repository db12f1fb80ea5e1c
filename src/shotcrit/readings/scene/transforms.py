"""Matrices from translation, rotation, scale; and chains of them. Column vectors: world = parent @ local."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def quaternion_matrix(q: Array) -> Array:
    """Unit quaternions x, y, z, w [shape=(n, 4)] to rotations [shape=(n, 3, 3)]; normalised first, zero becomes identity."""
    length = np.linalg.norm(q, axis=-1, keepdims=True)
    q = np.where(length > 0, q / np.where(length > 0, length, 1), np.array([0, 0, 0, 1.0]))
    x, y, z, w = np.moveaxis(q, -1, 0)
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def slerp(a: Array, b: Array, t: Array) -> Array:
    """Spherical interpolation of quaternions [shape=(n, 4)] at t [shape=(n,)] in 0..1, by the shorter way (glTF 2.0, appendix C.4)."""
    dot = (a * b).sum(axis=1)
    b = np.where(dot[:, None] < 0, -b, b)
    angle = np.arccos(np.clip(np.abs(dot), 0, 1))
    sine = np.sin(angle)
    near = sine < 1e-6
    safe = np.where(near, 1, sine)
    left = np.where(near, 1 - t, np.sin((1 - t) * angle) / safe)
    right = np.where(near, t, np.sin(t * angle) / safe)
    return left[:, None] * a + right[:, None] * b


def compose(translation: Array, rotation: Array, scale: Array) -> Array:
    """[shape=(n, 3)], [shape=(n, 3, 3)], [shape=(n, 3)] to T R S matrices [shape=(n, 4, 4)]."""
    n = len(translation)
    out = np.zeros((n, 4, 4))
    out[:, :3, :3] = rotation * scale[:, None, :]
    out[:, :3, 3] = translation
    out[:, 3, 3] = 1
    return out


def world_matrices(local: list[Array], parents: list[int]) -> list[Array]:
    """Local matrices of each node to world. Every parent must be reachable without a circle.

    local : [shape=(n, 4, 4)], or [shape=(1, 4, 4)] of what never moves; parents : by index, -1 for none
    """
    done: dict[int, Array] = {}
    for index in range(len(local)):
        chain = []
        at = index
        while at >= 0 and at not in done:
            chain.append(at)
            at = parents[at]
        for node in reversed(chain):
            parent = parents[node]
            done[node] = local[node] if parent < 0 else done[parent] @ local[node]
    return [done[i] for i in range(len(local))]


def has_circle(parents: list[int]) -> bool:
    """True where following parents never ends."""
    state = [0] * len(parents)
    for index in range(len(parents)):
        at, path = index, []
        while at >= 0 and state[at] == 0:
            state[at] = 1
            path.append(at)
            at = parents[at]
        if at >= 0 and state[at] == 1:
            return True
        for node in path:
            state[node] = 2
    return False
