"""Rigid motion: fit, invert, and how one point moves as another thing sees it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.errors import ReadingError

Array = npt.NDArray[np.float64]


def fit_rigid(source: Array, target: Array, *, scale: bool = False) -> Array:
    """The rotation and translation (and one scale) that carries source points onto target points with least squares.

    source, target : [shape=(k, d)], d 2 or 3, k >= d, not all on one line (in 3D)
    Returns [shape=(d + 1, d + 1)]. Umeyama (1991), IEEE PAMI 13(4):376-380; never a mirror image.
    """
    a, b = np.asarray(source, np.float64), np.asarray(target, np.float64)
    if a.shape != b.shape or len(a) < a.shape[1]:
        raise ReadingError("a rigid motion needs the same points before and after, as many as there are dimensions")
    d = a.shape[1]
    mean_a, mean_b = a.mean(axis=0), b.mean(axis=0)
    u, s, vt = np.linalg.svd((b - mean_b).T @ (a - mean_a) / len(a))
    sign = np.ones(d)
    sign[-1] = np.sign(np.linalg.det(u) * np.linalg.det(vt)) or 1.0
    turn = u @ np.diag(sign) @ vt
    spread = ((a - mean_a) ** 2).sum() / len(a)
    factor = float((s * sign).sum() / spread) if scale and spread > 0 else 1.0
    matrix = np.eye(d + 1)
    matrix[:d, :d] = factor * turn
    matrix[:d, d] = mean_b - factor * turn @ mean_a
    return matrix


def in_frame_of(points: Array, frames: Array) -> Array:
    """World points [shape=(n, 3)] as the moving things with world matrices [shape=(n, 4, 4)] see them; scale of the matrices is kept out.

    A point glued to the thing stands still in this frame: what is left is slip, in world units.
    """
    m = np.asarray(frames, np.float64)
    turn = unscaled(m[:, :3, :3])
    return np.einsum("nji,nj->ni", turn, np.asarray(points, np.float64) - m[:, :3, 3])


def unscaled(turns: Array) -> Array:
    """Rotation part of matrices [shape=(..., 3, 3)], scale and shear taken out by the polar decomposition."""
    u, _, vt = np.linalg.svd(np.asarray(turns, np.float64))
    flip = np.linalg.det(u @ vt)
    u = u.copy()
    u[..., :, -1] *= np.sign(flip)[..., None]
    return np.asarray(u @ vt)


def slip(a: Array, b: Array) -> Array:
    """Movement of a against b from frame to frame: [shape=(n,)], same unit; [0] is 0; nan where either is unknown.

    slip[i] = |(a[i] - b[i]) - (a[i-1] - b[i-1])|, for points that translate together
    """
    gap = np.asarray(a, np.float64) - np.asarray(b, np.float64)
    moved = np.linalg.norm(np.diff(gap, axis=0), axis=1)
    return np.concatenate([[0.0], moved])
