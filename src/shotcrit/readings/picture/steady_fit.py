"""The movement of a head in the picture, fitted to tracks: a rigid turn and shift in front of a pinhole camera, and depths.

Lengths are px of the reference frame: a thing that is as far away as the face then has depth 0 and lies `focal` px from the lens, and a point at
px x and depth z of the reference frame is X = (x - c) (focal + z) / focal, Z = focal + z. What a rigid turn does not explain (squash and stretch)
is left to a weakly held affine map of the picture.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

FEWEST = 8
OFF = 1.0
"""px; robust scale of what a feature may miss by: expression moves skin (guess)."""
STEPS = 6
RIGID = 0.3
"""Pull of the leftover affine map towards none, of the features' weight: high, so that it serves squash and stretch only (guess)."""


@dataclass(frozen=True)
class Movement:
    """From the reference frame to another.

    turn : [shape=(3, 3)] rotation, camera frame; shift : [shape=(3,)] px; pivot : [shape=(3,)] what the turn is about, px
    rest : [shape=(2, 3)] affine map of the picture about the pivot's place; focal, centre : of the camera, px; error : px, of one point
    """

    turn: Floats
    shift: Floats
    pivot: Floats
    rest: Floats
    focal: float
    centre: Floats
    error: float = 0.0

    def solid(self, spots: Floats, depth: Floats | float) -> Floats:
        """Where points of the reference frame are in space after the movement: px [shape=(..., 3)]."""
        return (lift(spots, depth, self.focal, self.centre) - self.pivot) @ self.turn.T + self.pivot + self.shift

    def at(self, spots: Floats, depth: Floats | float = 0.0) -> Floats:
        """Where px `spots` [shape=(..., 2)] at `depth` are seen after the movement."""
        seen = self.project(self.solid(spots, depth))
        middle = self.project(self.pivot + self.shift)
        return np.asarray((seen - middle) @ self.rest[:, :2].T + self.rest[:, 2] + middle)

    def project(self, solid: Floats) -> Floats:
        return np.asarray(solid[..., :2] / np.maximum(solid[..., 2:], 1.0) * self.focal + self.centre)

    def shifted(self, by: Floats) -> Movement:
        """The same, moved on by px `by` [shape=(2,)] of the picture."""
        far = (self.pivot + self.shift)[2] / self.focal
        return replace(self, shift=self.shift + np.array([by[0] * far, by[1] * far, 0.0]))

    @property
    def scale(self) -> float:
        """How much larger the thing is than on the reference frame, by its distance."""
        return float(self.pivot[2] / (self.pivot + self.shift)[2])


def lift(spots: Floats, depth: Floats | float, focal: float, centre: Floats) -> Floats:
    """Points in space [shape=(..., 3)], px, of reference px `spots` at `depth`."""
    far = focal + np.asarray(depth, float)
    out = np.empty((*spots.shape[:-1], 3))
    out[..., :2] = (spots - centre) * (far / focal)[..., None]
    out[..., 2] = far
    return out


def still(middle: Floats, focal: float, centre: Floats) -> Movement:
    """No movement; turns are about px `middle` of the reference frame."""
    return Movement(np.eye(3), np.zeros(3), lift(middle, 0.0, focal, centre), np.eye(2, 3), focal, centre)


def fit(old: Floats, new: Floats, depth: Floats, start: Movement, *, steps: int = STEPS) -> Movement | None:
    """The movement from old px [shape=(n, 2)] at `depth` [shape=(n,)] to new px: Gauss-Newton with Cauchy weights, from `start`, in `steps` at most."""
    if len(old) < FEWEST:
        return None
    move = replace(start, rest=np.eye(2, 3))
    for _ in range(steps):
        rest = new - move.at(old, depth)
        trust, scale = _weights(rest)
        step = _step(move, old, depth, rest, trust)
        move = moved_by(move, step)
        if np.abs(step[3:]).max() < 0.01 and np.abs(step[:3]).max() < 1e-4:
            break
    if not 0.2 < move.scale < 5:
        return None
    move = replace(move, rest=_squash(move, old, depth, new))
    miss = np.linalg.norm(new - move.at(old, depth), axis=1)
    trust, scale = _weights(new - move.at(old, depth))
    if (miss < 4 * scale).sum() < max(FEWEST, len(old) / 3):
        return None
    return replace(move, error=float(np.sqrt((trust * miss**2).sum() / trust.sum() * 4 / len(miss))))


def _weights(rest: Floats) -> tuple[Floats, float]:
    miss = np.hypot(rest[:, 0], rest[:, 1])
    middle = len(miss) // 2
    scale = max(0.1, 1.4826 * float(np.partition(miss, middle)[middle]))
    return 1 / (1 + (miss / (2.4 * scale)) ** 2), scale


def pose_slopes(move: Movement, old: Floats, depth: Floats) -> Floats:
    """d (x, y) / d (rotation vector, shift) of each point: [shape=(2, n, 6)]. Derivatives of f X / Z by hand."""
    solid = move.solid(old, depth)
    arm = solid - move.pivot - move.shift
    x, y = solid[:, 0], solid[:, 1]
    near = move.focal / solid[:, 2]
    # d (f X / Z) = near * (1, 0, -X / Z) . d(X, Y, Z); d(w x arm) . g = (arm x g) . w for a gradient g.
    right, down = near * -(x / solid[:, 2]), near * -(y / solid[:, 2])
    ax, ay, az = arm[:, 0], arm[:, 1], arm[:, 2]
    zero = np.zeros_like(x)
    to_x = (ay * right, az * near - ax * right, -ay * near, near, zero, right)
    to_y = (ay * down - az * near, -ax * down, ax * near, zero, near, down)
    return np.stack([np.stack(to_x, axis=1), np.stack(to_y, axis=1)])


def moved_by(move: Movement, step: Floats) -> Movement:
    """`move` with a small rotation vector and shift [shape=(6,)] added."""
    turn, _ = cv2.Rodrigues(step[:3])
    return replace(move, turn=turn @ move.turn, shift=move.shift + step[3:])


def _step(move: Movement, old: Floats, depth: Floats, rest: Floats, trust: Floats) -> Floats:
    """Rotation vector and shift that take most of `rest` away."""
    slopes = pose_slopes(move, old, depth).reshape(-1, 6)
    weights = np.concatenate([trust, trust])
    normal = (slopes * weights[:, None]).T @ slopes
    normal[np.arange(6), np.arange(6)] *= 1 + 1e-6
    normal[np.arange(6), np.arange(6)] += 1e-9
    return np.asarray(np.linalg.solve(normal, (slopes * weights[:, None]).T @ rest.T.ravel()))


def _squash(move: Movement, old: Floats, depth: Floats, new: Floats) -> Floats:
    """The leftover affine map [shape=(2, 3)], held towards none."""
    middle = move.project(move.pivot + move.shift)
    seen, want = move.project(move.solid(old, depth)) - middle, new - middle
    trust, _ = _weights(want - seen)
    size = max(float(seen.std()), 1.0)
    base = np.column_stack([seen / size, np.ones(len(seen))])
    pull = np.diag([RIGID, RIGID, 0.01]) * trust.sum()
    change = np.linalg.solve((base * trust[:, None]).T @ base + pull, (base * trust[:, None]).T @ (want - seen))
    return np.asarray(np.eye(2, 3) + np.hstack([change[:2].T / size, change[2][:, None]]))
