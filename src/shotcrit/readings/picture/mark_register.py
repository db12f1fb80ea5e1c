"""Registering small patches of a frame to templates: affine, with gain and bias, robust, all patches at once.

Inverse-compositional Lucas-Kanade (Baker & Matthews 2004, 'Lucas-Kanade 20 years on', IJCV 56:221-255) with iteratively reweighted
least squares: pixels that do not fit (something in front, the background beside) lose their say instead of dragging the patch along.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]

RADIUS = 13
"""px at working size; a patch is (2 * RADIUS + 1) square (guess: a nose or a button at 960 px)."""
SMOOTH = 0.8
"""px, Gaussian; takes the edge off codec noise and interpolation error (guess)."""
WINDOW = 0.55
"""Gaussian window's sigma over the radius: the middle counts most (guess)."""
STEPS = 10
"""Most iterations; most patches need four."""
ENOUGH = 0.03
"""px, at the middle and at the rim; a smaller step ends the iteration."""
FIRM = 0.004
"""Damping of the linear part, of the mean curvature: keeps flat patches from twisting (guess)."""
LIMP = 0.002
"""The same when errors are reckoned: what little is known beforehand about turn and scale (guess)."""
NOISE_FLOOR = 0.7
"""Grey levels; rounding to 8 bits alone leaves 0.3, codecs more (guess)."""
TAIL = 2.4
"""Scale of the Cauchy weight in standard deviations (Holland & Welsch 1977 give 2.385 for 95 % efficiency)."""
GROSS = 0.25
"""A weight under this says: this pixel is not the mark's (guess; a residual over 4 standard deviations)."""
CENTRE = 3.5
"""px; what lies within is the mark itself."""
KIN = 2.0
"""How far pixel noise is correlated after smoothing and coding: the variance grows by its square (calibrated on generated films)."""


def smoothed(luma: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    """The picture that patches are cut from."""
    return np.asarray(cv2.GaussianBlur(luma, (0, 0), SMOOTH), dtype=np.uint8)


def _grid() -> Floats:
    line = np.arange(-RADIUS, RADIUS + 1, dtype=np.float32)
    return np.stack(np.meshgrid(line, line), axis=-1).reshape(-1, 2)


GRID = _grid()
_SIDE = 2 * RADIUS + 1
_DISTANCE = np.hypot(GRID[:, 0], GRID[:, 1])
_WINDOW = np.exp(-0.5 * (_DISTANCE / (WINDOW * RADIUS)) ** 2).astype(np.float32)
_CENTRE = _DISTANCE <= CENTRE


def cut(picture: npt.NDArray[np.uint8], warps: Floats) -> Floats:
    """float32 [shape=(n, side * side)]: the picture under each patch.

    warps : float32 [shape=(n, 2, 3)] from patch coordinates (px, middle = 0) to picture px.
    """
    spots = GRID @ warps[:, :, :2].transpose(0, 2, 1) + warps[:, None, :, 2]
    spots = spots.reshape(-1, _SIDE, 2).astype(np.float32)
    values = cv2.remap(picture, spots[..., 0], spots[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(values, dtype=np.float32).reshape(len(warps), -1)


@dataclass
class Templates:
    """What patches look like where they were placed. All arrays have one row a patch.

    values : float32 [shape=(n, k)] grey; slopes : float32 [shape=(n, k, 6)] d grey / d (x, y, xx, xy, yx, yy), linear parts per RADIUS px
    loose : float32 [shape=(n,)] standard error of the place for one grey level of noise, px
    """

    values: Floats
    slopes: Floats
    loose: Floats

    def pick(self, rows: npt.NDArray[np.intp]) -> Templates:
        return Templates(self.values[rows], self.slopes[rows], self.loose[rows])

    def put(self, row: int, other: Templates) -> None:
        self.values[row], self.slopes[row], self.loose[row] = other.values[0], other.slopes[0], other.loose[0]


def make_templates(picture: npt.NDArray[np.uint8], warps: Floats) -> Templates:
    """Templates of `picture` (smoothed) under `warps`, float32 [shape=(n, 2, 3)]."""
    values = cut(picture, warps)
    square = values.reshape(-1, _SIDE, _SIDE)
    gx, gy = (np.asarray(np.gradient(square, axis=axis)).reshape(values.shape) for axis in (2, 1))
    x, y = GRID[:, 0] / RADIUS, GRID[:, 1] / RADIUS
    slopes = np.stack([gx, gy, gx * x, gx * y, gy * x, gy * y], axis=-1).astype(np.float32)
    return Templates(values, slopes, unsureness(slopes, np.broadcast_to(_WINDOW, values.shape)))


def unsureness(slopes: Floats, weights: Floats) -> Floats:
    """Standard error of the middle's place, px for one grey level of independent noise: float32 [shape=(n,)].

    sqrt(trace of the first two rows of (J^T W J)^-1), the Cramer-Rao bound; turn and scale are unknown too, so that texture
    which lies all on one side counts for less.
    """
    tensor = (slopes * weights[..., None]).transpose(0, 2, 1) @ slopes
    bare = tensor.diagonal(axis1=1, axis2=2)
    mean = bare[:, :2].mean(1)
    tensor[:, np.arange(6), np.arange(6)] += np.stack([1e-3 * mean] * 2 + [LIMP * mean] * 4, axis=1) + 1e-3
    inverse = np.linalg.inv(tensor)
    return np.sqrt(inverse[:, 0, 0] + inverse[:, 1, 1]).astype(np.float32)


@dataclass
class Fit:
    """How patches lie in a frame; one row a patch.

    warps : float32 [shape=(n, 2, 3)]; likeness : weighted normalised cross-correlation -1 .. 1, of the pixels that fit
    whole : the same of all pixels; scale : robust standard deviation of the residual, grey
    centre : share of the middle's pixels that fit; seen : share of all pixels that fit
    error : standard error of the position (root mean square distance), px of the working size
    """

    warps: Floats
    likeness: Floats
    whole: Floats
    scale: Floats
    centre: Floats
    seen: Floats
    error: Floats


def register(picture: npt.NDArray[np.uint8], templates: Templates, warps: Floats, usual: Floats) -> Fit:
    """Fit `templates` to `picture` (smoothed), starting at `warps`.

    usual : float32 [shape=(n,)] residual, grey, that each patch has had so far: what is much worse is somebody else's; nan = not known
    """
    warps = warps.astype(np.float32).copy()
    live = np.arange(len(warps))
    for _ in range(STEPS):
        delta = _step(picture, templates.pick(live), warps[live], usual[live])
        warps[live] = _compose(warps[live], delta)
        live = live[np.abs(delta).max(axis=1) > ENOUGH]
        if not len(live):
            break
    return _judge(picture, templates, warps, usual)


def _step(picture: npt.NDArray[np.uint8], templates: Templates, warps: Floats, usual: Floats) -> Floats:
    """One Gauss-Newton step: [shape=(n, 6)] x, y in px, linear part per RADIUS."""
    _, weights, gain, residual, _ = _residual(cut(picture, warps), templates.values, usual, 2)
    slopes = templates.slopes * gain[:, None, None]
    weighted = slopes * weights[..., None]
    # Gain and bias are taken out of slopes and residual alike, so that shading cannot pose as movement.
    normal = weighted.transpose(0, 2, 1) @ slopes
    for basis in _shading(templates.values, weights):
        along = (weighted * basis[..., None]).sum(1)
        normal -= along[:, :, None] * along[:, None, :]
    pull = (weighted * residual[..., None]).sum(1)
    mean = np.trace(normal[:, :2, :2], axis1=1, axis2=2)[:, None] / 2
    damp = np.concatenate([np.repeat(mean * 1e-3, 2, 1), np.repeat(mean * FIRM, 4, 1)], axis=1) + 1e-3
    normal[:, np.arange(6), np.arange(6)] += damp
    delta = np.linalg.solve(normal, pull[..., None])[..., 0]
    return np.asarray(np.clip(delta, -3.0, 3.0), dtype=np.float32)


def _shading(values: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Two bases of shading (even light, contrast), orthonormal under `weights`."""
    even = 1 / np.sqrt(weights.sum(1, keepdims=True)) * np.ones_like(values)
    mean = (values * weights).sum(1, keepdims=True) / weights.sum(1, keepdims=True)
    bare = values - mean
    return even.astype(np.float32), bare / np.sqrt(np.maximum((bare**2 * weights).sum(1, keepdims=True), 1e-6))


def _residual(seen: Floats, values: Floats, usual: Floats, rounds: int = 3) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """(model, weights, gain, seen - model, scale), gain and bias fitted robustly."""
    weights = np.broadcast_to(_WINDOW, seen.shape)
    for _ in range(rounds):
        total = weights.sum(1, keepdims=True)
        mean_t, mean_s = (values * weights).sum(1, keepdims=True) / total, (seen * weights).sum(1, keepdims=True) / total
        spread = ((values - mean_t) ** 2 * weights).sum(1, keepdims=True)
        gain = ((values - mean_t) * (seen - mean_s) * weights).sum(1, keepdims=True) / np.maximum(spread, 1e-6)
        gain = np.clip(gain, 0.3, 3.0)
        model = mean_s + gain * (values - mean_t)
        rest = seen - model
        scale = 1.4826 * _median(np.abs(rest[:, ::3]))
        most = np.where(np.isfinite(usual), 1.6 * usual + 1.0, np.inf)[:, None]
        scale = np.clip(scale, NOISE_FLOOR, np.maximum(most, NOISE_FLOOR))
        weights = _WINDOW / (1 + (rest / (TAIL * scale)) ** 2)
    return model, weights, gain[:, 0], rest, scale[:, 0]


def _median(values: Floats) -> Floats:
    """The upper median of rows [shape=(n, 1)]; partition is several times faster than numpy's median on short rows."""
    middle = values.shape[1] // 2
    return np.partition(values, middle, axis=1)[:, middle : middle + 1]


def _compose(warps: Floats, delta: Floats) -> Floats:
    """warp o (identity + delta)^-1. Content that the template has at g + delta(g) was seen at g, so the patch moves the other way."""
    moved = np.zeros((len(warps), 3, 3), np.float64)
    moved[:, :2, 2] = delta[:, :2]
    moved[:, 0, 0], moved[:, 0, 1] = 1 + delta[:, 2] / RADIUS, delta[:, 3] / RADIUS
    moved[:, 1, 0], moved[:, 1, 1] = delta[:, 4] / RADIUS, 1 + delta[:, 5] / RADIUS
    moved[:, 2, 2] = 1
    return np.asarray(warps @ np.linalg.inv(moved), dtype=np.float32)


def _judge(picture: npt.NDArray[np.uint8], templates: Templates, warps: Floats, usual: Floats) -> Fit:
    seen = cut(picture, warps)
    model, weights, gain, _, scale = _residual(seen, templates.values, usual)
    fits = weights / _WINDOW >= GROSS
    spread = unsureness(templates.slopes * gain[:, None, None], weights)
    window = _WINDOW / _WINDOW.sum()
    return Fit(
        warps,
        _correlation(seen, model, weights),
        _correlation(seen, model, np.broadcast_to(_WINDOW, seen.shape)),
        scale.astype(np.float32),
        fits[:, _CENTRE].mean(1).astype(np.float32),
        (fits * window).sum(1).astype(np.float32),
        (KIN * scale * spread).astype(np.float32),
    )


def _correlation(a: Floats, b: Floats, weights: Floats) -> Floats:
    """Weighted normalised cross-correlation of rows; 0 where either is flat."""
    total = weights.sum(1, keepdims=True)
    a = a - (a * weights).sum(1, keepdims=True) / total
    b = b - (b * weights).sum(1, keepdims=True) / total
    below = np.sqrt((a**2 * weights).sum(1) * (b**2 * weights).sum(1))
    return np.asarray(np.where(below > 1e-3, (a * b * weights).sum(1) / np.maximum(below, 1e-3), 0), dtype=np.float32)
