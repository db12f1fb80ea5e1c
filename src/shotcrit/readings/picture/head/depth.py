"""How deep the features of a face lie: depths and movements of some well turned frames, solved together (bundle adjustment).

Taking turns between depths and movements crawls: a face thought too flat looks turned too far, and that fits nearly as well (the bas-relief ambiguity,
Belhumeur, Kriegman & Yuille 1999). Foreshortening tells, and only solving both at once hears it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.head.fit import Movement, moved_by, pose_slopes

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Tracks = Mapping[int, tuple[Floats, Bools]]

CHOSEN = 14
"""Frames that depths are solved on; more add little and cost time (guess)."""
STEPS = 12
PULL = 0.003
"""Standard error of tracks over that of the guessed depths: 0.1 px against 30 px on a head of 300 (guess)."""
TURNED = 3.0
"""Degrees; a head that never turns further tells no depths (guess)."""
BEND = 2.4 * 0.5
"""px; where Cauchy weights begin to doubt a track: 2.4 standard deviations of half a px."""


def solve_depths(spots: Floats, guess: Floats, moves: Mapping[int, Movement], seen: Tracks) -> Floats:
    """Depths [shape=(k,)] of features at reference px `spots`, from `guess`, which they keep where the head hardly turns."""
    frames = _chosen(moves, seen)
    if not frames:
        return guess
    poses = [replace(moves[i], rest=np.eye(2, 3)) for i in frames]
    depth = guess.astype(float).copy()
    damp, best = 1e-3, _cost(spots, guess, depth, poses, frames, seen)
    for _ in range(STEPS):
        change, steps = _solve(spots, guess, depth, poses, frames, seen, damp)
        tried, moved = depth + change, [moved_by(p, s) for p, s in zip(poses, steps, strict=True)]
        cost = _cost(spots, guess, tried, moved, frames, seen)
        if cost > best:
            damp *= 10
            continue
        done = best - cost < 1e-4 * best
        depth, poses, best, damp = tried, moved, cost, damp / 5
        if done:
            break
    return depth


def _chosen(moves: Mapping[int, Movement], seen: Tracks) -> list[int]:
    """Frames turned furthest, each in its own direction: greedily the one whose turn is least like those chosen."""
    angles = {i: _rotation_vector(moves[i].turn) for i in seen if i in moves}
    chosen: list[int] = []
    nearest = {i: float(np.linalg.norm(a)) for i, a in angles.items()}
    while nearest and len(chosen) < CHOSEN:
        far = max(nearest, key=lambda i: nearest[i])
        if nearest[far] < np.radians(TURNED) * (1.0 if not chosen else 0.3):
            break
        chosen.append(far)
        nearest = {i: min(d, float(np.linalg.norm(angles[i] - angles[far]))) for i, d in nearest.items() if i != far}
    return chosen


def _rotation_vector(turn: Floats) -> Floats:
    skew = np.array([turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]]) / 2
    size = np.linalg.norm(skew)
    return skew if size < 1e-9 else skew / size * np.arctan2(size, (np.trace(turn) - 1) / 2)


def _rest(spots: Floats, depth: Floats, pose: Movement, track: tuple[Floats, Bools]) -> tuple[Floats, Floats]:
    where, there = track
    rest = np.where(there[:, None], where - pose.at(spots, depth), 0.0)
    return rest, there / (1 + (np.linalg.norm(rest, axis=1) / BEND) ** 2)


def _cost(spots: Floats, guess: Floats, depth: Floats, poses: list[Movement], frames: list[int], seen: Tracks) -> float:
    total = PULL**2 * float(((depth - guess) ** 2).sum())
    for pose, index in zip(poses, frames, strict=True):
        rest, _ = _rest(spots, depth, pose, seen[index])
        total += BEND**2 * float(np.log1p((rest**2).sum(1) / BEND**2).sum())
    return total


def _solve(
    spots: Floats, guess: Floats, depth: Floats, poses: list[Movement], frames: list[int], seen: Tracks, damp: float
) -> tuple[Floats, Floats]:
    """One Levenberg-Marquardt step: change of depths [shape=(k,)] and of poses [shape=(frames, 6)].

    Each depth meets only itself and the poses, so the depths are eliminated first (the Schur complement, Triggs et al. 2000, 'Bundle adjustment', 6.1).
    """
    own = np.full(len(spots), PULL**2)
    pull = PULL**2 * (guess - depth)
    size = 6 * len(poses)
    cross, block, right = np.zeros((len(spots), size)), np.zeros((size, size)), np.zeros(size)
    for f, (pose, index) in enumerate(zip(poses, frames, strict=True)):
        rest, trust = _rest(spots, depth, pose, seen[index])
        deep = pose.at(spots, depth + 1.0) - pose.at(spots, depth)
        slopes = pose_slopes(pose, spots, depth)
        weighted = slopes * trust[None, :, None]
        at = slice(6 * f, 6 * f + 6)
        block[at, at] = np.tensordot(weighted, slopes, axes=((0, 1), (0, 1)))
        cross[:, at] = np.einsum("cni,nc->ni", weighted, deep)
        right[at] = np.einsum("cni,nc->i", weighted, rest)
        own += trust * (deep**2).sum(1)
        pull += trust * (deep * rest).sum(1)
    own *= 1 + damp
    block[np.arange(size), np.arange(size)] *= 1 + damp
    through = cross / own[:, None]
    turned = np.linalg.solve(block - through.T @ cross, right - through.T @ pull)
    return np.asarray((pull - cross @ turned) / own), np.asarray(turned.reshape(-1, 6))
