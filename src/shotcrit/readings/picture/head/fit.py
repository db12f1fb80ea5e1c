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
_DIAGONAL = np.arange(6)
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

    def seen(self, lifted: Floats) -> Floats:
        """As at(), of points that were lifted already, [shape=(..., 3)]: what is asked of the same points on every frame."""
        middle = self.pivot + self.shift
        solid = (lifted.reshape(-1, 3) - self.pivot) @ self.turn.T + middle
        at = self.project(middle)
        seen = (self.project(solid) - at) @ self.rest[:, :2].T + (self.rest[:, 2] + at)
        return np.asarray(seen.reshape(*lifted.shape[:-1], 2))

    def solid(self, spots: Floats, depth: Floats | float) -> Floats:
        """Where points of the reference frame are in space after the movement: px [shape=(..., 3)]."""
        return (lift(spots, depth, self.focal, self.centre) - self.pivot) @ self.turn.T + self.pivot + self.shift

    def at(self, spots: Floats, depth: Floats | float = 0.0) -> Floats:
        """Where px `spots` [shape=(..., 2)] at `depth` are seen after the movement."""
        return self.seen(lift(spots, depth, self.focal, self.centre))

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
    arms = np.ascontiguousarray((lift(old, depth, start.focal, start.centre) - start.pivot).T)
    want = np.ascontiguousarray((new - start.centre).T)
    move = replace(start, rest=np.eye(2, 3))
    for _ in range(steps):
        step = _step(move, move.turn @ arms, want)
        move = moved_by(move, step)
        if np.abs(step[3:]).max() < 0.01 and np.abs(step[:3]).max() < 1e-4:
            break
    if not 0.2 < move.scale < 5:
        return None
    return _unbent(move, _seen(move, move.turn @ arms + (move.pivot + move.shift)[:, None]), want)


def _unbent(move: Movement, seen: Floats, want: Floats) -> Movement | None:
    """With its leftover map and its error; None where too few points agree. seen, want : px from the camera's centre, [shape=(2, n)]"""
    middle = (move.project(move.pivot + move.shift) - move.centre)[:, None]
    seen, want = seen - middle, want - middle
    move = replace(move, rest=_squash(seen, want))
    left = want - move.rest[:, :2] @ seen - move.rest[:, 2:]
    trust, scale, miss = _weights(left)
    if (miss < 4 * scale).sum() < max(FEWEST, len(miss) / 3):
        return None
    return replace(move, error=float(np.sqrt((trust * miss**2).sum() / trust.sum() * 4 / len(miss))))


def _seen(move: Movement, solid: Floats) -> Floats:
    """Where points in space [shape=(3, n)] are seen, px from the camera's centre [shape=(2, n)]."""
    return np.asarray(solid[:2] * (move.focal / np.maximum(solid[2], 1.0)))


def _weights(rest: Floats) -> tuple[Floats, float, Floats]:
    """(Cauchy weights, robust scale, distance) of what is left of each point, px [shape=(2, n)]."""
    miss = np.hypot(rest[0], rest[1])
    middle = len(miss) // 2
    scale = max(0.1, 1.4826 * float(np.partition(miss, middle)[middle]))
    return 1 / (1 + (miss * (1 / (2.4 * scale))) ** 2), scale, miss


def pose_slopes(move: Movement, old: Floats, depth: Floats) -> Floats:
    """d (x, y) / d (rotation vector, shift) of each point: [shape=(2, n, 6)]."""
    solid = move.solid(old, depth).T
    return np.moveaxis(_slopes(move, solid, solid - (move.pivot + move.shift)[:, None]), 0, 2)


def _slopes(move: Movement, solid: Floats, arms: Floats) -> Floats:
    """The same from points in space and from what they are turned about, [shape=(3, n)]: [shape=(6, 2, n)]. Derivatives of f X / Z by hand."""
    near = move.focal / solid[2]
    # d (f X / Z) = near * (1, 0, -X / Z) . d(X, Y, Z); d(w x arm) . g = (arm x g) . w for a gradient g.
    away = solid[:2] * (-near / solid[2])
    out = np.zeros((6, 2, solid.shape[1]))
    out[0], out[1], out[2, 0], out[2, 1] = arms[1] * away, -arms[0] * away, -arms[1] * near, arms[0] * near
    out[0, 1] -= arms[2] * near
    out[1, 0] += arms[2] * near
    out[3, 0] = out[4, 1] = near
    out[5] = away
    return out


def moved_by(move: Movement, step: Floats) -> Movement:
    """`move` with a small rotation vector and shift [shape=(6,)] added."""
    turn, _ = cv2.Rodrigues(step[:3])
    return replace(move, turn=turn @ move.turn, shift=move.shift + step[3:])


def _step(move: Movement, arms: Floats, want: Floats) -> Floats:
    """Rotation vector and shift that take most of what is left away. arms : turned already, [shape=(3, n)]; want : px from the centre, [shape=(2, n)]"""
    solid = arms + (move.pivot + move.shift)[:, None]
    rest = want - _seen(move, solid)
    trust = _weights(rest)[0]
    slopes = _slopes(move, solid, arms)
    weighted = (slopes * trust).reshape(6, -1)
    normal = weighted @ slopes.reshape(6, -1).T
    normal[_DIAGONAL, _DIAGONAL] = normal[_DIAGONAL, _DIAGONAL] * (1 + 1e-6) + 1e-9
    return np.asarray(np.linalg.solve(normal, weighted @ rest.ravel()))


def _squash(seen: Floats, want: Floats) -> Floats:
    """The leftover affine map [shape=(2, 3)], held towards none, from px to px about the pivot's place [shape=(2, n)]."""
    left = want - seen
    trust = _weights(left)[0]
    size = max(float(seen.std()), 1.0)
    base = np.concatenate([seen / size, np.ones((1, seen.shape[1]))])
    pull = np.diag([RIGID, RIGID, 0.01]) * trust.sum()
    change = np.linalg.solve((base * trust) @ base.T + pull, (base * trust) @ left.T)
    return np.asarray(np.eye(2, 3) + np.hstack([change[:2].T / size, change[2][:, None]]))
