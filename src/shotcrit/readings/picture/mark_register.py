"""Registering small patches of a frame to templates: affine, with gain and bias, robust, all patches at once.

Inverse-compositional Lucas-Kanade (Baker & Matthews 2004, 'Lucas-Kanade 20 years on', IJCV 56:221-255) with iteratively reweighted
least squares: pixels that do not fit (something in front, the background beside) lose their say instead of dragging the patch along.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

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
STEPS = 7
"""Most iterations; patches that are there need five, and more bring those that are not no nearer (measured: 10 change no error by 0.001 px)."""
FEW = 4
"""Steps after which most patches lie where they will, and all that flow brought near: after three, half of them move by under 0.015 px (measured)."""
ENOUGH = 0.03
"""px, at the middle; a smaller step ends the iteration."""
ENOUGH_RIM = 0.08
"""px, at the rim, where turn and scale show; the place hangs little on it (guess)."""
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
_HALF = slice(None, None, 2)
"""Every other pixel, as on a chess board, since a row has an odd number of them: steps towards the place need no more, neighbours being alike."""
_CENTRE = _DISTANCE <= CENTRE
_DIAGONAL = np.arange(6)
_STILL = np.array([ENOUGH] * 2 + [ENOUGH_RIM] * 4, np.float32)
_DAMP = np.array([1e-3] * 2 + [FIRM] * 4)


def cut(picture: npt.NDArray[np.uint8], warps: Floats, grid: Floats = GRID) -> Floats:
    """float32 [shape=(n, k)]: the picture under each patch.

    warps : float32 [shape=(n, 2, 3)] from patch coordinates (px, middle = 0) to picture px; grid : float32 [shape=(k, 2)] patch px that are asked for
    """
    spots = grid @ warps[:, :, :2].transpose(0, 2, 1)
    spots += warps[:, None, :, 2]
    return cv2.remap(picture, spots, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(np.float32)


@dataclass
class Templates:
    """What patches look like where they were placed. All arrays have one row a patch.

    values : float32 [shape=(n, k)] grey; slopes : float32 [shape=(n, 6, k)] d grey / d (x, y, xx, xy, yx, yy), linear parts per RADIUS px
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
    slopes = np.stack([gx, gy, gx * x, gx * y, gy * x, gy * y], axis=1).astype(np.float32)
    return Templates(values, slopes, unsureness(slopes, np.broadcast_to(_WINDOW, values.shape)))


def unsureness(slopes: Floats, weights: Floats) -> Floats:
    """Standard error of the middle's place, px for one grey level of independent noise: float32 [shape=(n,)].

    sqrt(trace of the first two rows of (J^T W J)^-1), the Cramer-Rao bound; turn and scale are unknown too, so that texture
    which lies all on one side counts for less.
    """
    return _unsure((slopes * weights[:, None]) @ slopes.transpose(0, 2, 1))


def _unsure(tensor: npt.NDArray[Any]) -> Floats:
    """The same from the weighted products of slopes, float32 [shape=(n, 6, 6)]."""
    bare = tensor.diagonal(axis1=1, axis2=2)
    mean = bare[:, :2].mean(1)
    tensor[:, _DIAGONAL, _DIAGONAL] += np.stack([1e-3 * mean] * 2 + [LIMP * mean] * 4, axis=1) + 1e-3
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


def register(
    picture: npt.NDArray[np.uint8], templates: Templates, warps: Floats, usual: Floats, *, steps: int = STEPS, hopeless: float = -1.0
) -> Fit:
    """Fit `templates` to `picture` (smoothed), starting at `warps`.

    steps : at most; hopeless : likeness of the whole window under which a patch is left as it lies after FEW steps
    usual : float32 [shape=(n,)] residual, grey, that each patch has had so far: what is much worse is somebody else's; nan = not known
    """
    warps = warps.astype(np.float32).copy()
    known = _known(templates)
    most = np.maximum(np.where(np.isfinite(usual), 1.6 * usual + 1.0, np.inf), NOISE_FLOOR).astype(np.float32)[:, None]
    live, part, far = np.arange(len(warps)), _Part(np.ascontiguousarray(known[:, :, _HALF]), templates.values[:, _HALF]), most
    for step in range(steps):
        delta = _step(picture, part, warps[live], far)
        warps[live] = _compose(warps[live], delta)
        goes_on = np.asarray((np.abs(delta) > _STILL).any(axis=1), np.bool_)
        if step + 1 == FEW and hopeless > -1:
            goes_on &= _whole(picture, part, warps[live], far) >= hopeless
        if not goes_on.any():
            break
        if not goes_on.all():
            live, part, far = live[goes_on], part.pick(goes_on), far[goes_on]
    return _judge(picture, _Part(known, templates.values), warps, most)


def _known(templates: Templates) -> Floats:
    """What a step sums over, [shape=(n, 9, k)]: six slopes, even light, the template about its mean, and room for the residual."""
    values = templates.values
    known = np.empty((len(values), 9, values.shape[1]), np.float32)
    known[:, :6], known[:, 6], known[:, 7] = templates.slopes, 1, values - values.mean(1, keepdims=True)
    return known


@dataclass
class _Part:
    """Pixels of patches, all or every other one. known : see _known; values : float32 [shape=(n, k)] grey; weights : the last step's, None before the first"""

    known: Floats
    values: Floats
    weights: Floats | None = None

    def pick(self, rows: npt.NDArray[np.bool_]) -> _Part:
        return _Part(self.known[rows], self.values[rows], None if self.weights is None else self.weights[rows])

    @property
    def window(self) -> Floats:
        return _WINDOW if self.values.shape[1] == len(_WINDOW) else _WINDOW[_HALF]

    @property
    def grid(self) -> Floats:
        return GRID if self.values.shape[1] == len(GRID) else GRID[_HALF]


def _whole(picture: npt.NDArray[np.uint8], part: _Part, warps: Floats, most: Floats) -> Floats:
    """Likeness of the whole window, float32 [shape=(n,)]."""
    _, gain, rest, _ = _residual(cut(picture, warps, part.grid), part.values, most, part.window)
    part.known[:, 8] = rest
    return _likeness((part.known[:, 6:] * part.window) @ part.known[:, 6:].transpose(0, 2, 1), gain)


def _step(picture: npt.NDArray[np.uint8], part: _Part, warps: Floats, most: Floats) -> Floats:
    """One Gauss-Newton step: [shape=(n, 6)] x, y in px, linear part per RADIUS."""
    known = part.known
    rounds = 2 if part.weights is None else 1
    part.weights, gain, known[:, 8], _ = _residual(cut(picture, warps, part.grid), part.values, most, part.window, part.weights, rounds)
    sums = ((known[:, :8] * part.weights[:, None]) @ known.transpose(0, 2, 1)).astype(np.float64)
    by = gain.astype(np.float64)[:, None]
    normal, pull = sums[:, :6, :6] * (by**2)[..., None], sums[:, :6, 8] * by
    # Gain and bias are taken out of the slopes, so that shading cannot pose as movement: even light and contrast, orthonormal under the weights.
    total, mean = sums[:, 6, 6, None], sums[:, 6, 7, None] / sums[:, 6, 6, None]
    spread = np.maximum(sums[:, 7, 7, None] - mean * sums[:, 6, 7, None], 1e-6)
    even = by * sums[:, :6, 6] / np.sqrt(total)
    contrast = by * (sums[:, :6, 7] - mean * sums[:, :6, 6]) / np.sqrt(spread)
    normal -= even[:, :, None] * even[:, None] + contrast[:, :, None] * contrast[:, None]
    bare = (normal[:, 0, 0] + normal[:, 1, 1])[:, None] / 2
    normal[:, _DIAGONAL, _DIAGONAL] += bare * _DAMP + 1e-3
    return np.asarray(np.clip(np.linalg.solve(normal, pull[..., None])[..., 0], -3.0, 3.0), dtype=np.float32)


def _residual(
    seen: Floats, values: Floats, most: Floats, window: Floats, weights: Floats | None = None, rounds: int = 2
) -> tuple[Floats, Floats, Floats, Floats]:
    """(weights, gain, seen - model, scale), gain and bias of the model fitted robustly.

    most : float32 [shape=(n, 1)] largest scale that is believed; window : float32 [shape=(k,)]; weights : where to start from, the window itself without
    """
    weights = np.broadcast_to(window, seen.shape) if weights is None else weights
    for _ in range(rounds):
        total = weights.sum(1)
        model = values - (_dots(values, weights) / total)[:, None]
        rest = seen - (_dots(seen, weights) / total)[:, None]
        along = model * weights
        gain = np.asarray(np.clip(_dots(along, rest) / np.maximum(_dots(along, model), 1e-6), 0.3, 3.0), np.float32)
        rest -= gain[:, None] * model
        scale = np.clip(1.4826 * _median(np.abs(rest[:, ::3])), NOISE_FLOOR, most)
        weights = rest * (1 / (TAIL * scale)).astype(np.float32)
        weights *= weights
        weights += 1
        weights = np.divide(window, weights, out=weights)
    return weights, gain, rest, scale[:, 0]


def _dots(a: Floats, b: Floats) -> Floats:
    """Sums over rows of the product: float32 [shape=(n,)]."""
    return np.asarray(np.einsum("nk,nk->n", a, b))


def _median(values: Floats) -> Floats:
    """The upper median of rows [shape=(n, 1)]; partition is several times faster than numpy's median on short rows."""
    middle = values.shape[1] // 2
    return np.partition(values, middle, axis=1)[:, middle : middle + 1]


def _compose(warps: Floats, delta: Floats) -> Floats:
    """warp o (identity + delta)^-1. Content that the template has at g + delta(g) was seen at g, so the patch moves the other way."""
    d = delta.astype(np.float64)
    linear = np.eye(2) + d[:, 2:].reshape(-1, 2, 2) / RADIUS
    det = linear[:, 0, 0] * linear[:, 1, 1] - linear[:, 0, 1] * linear[:, 1, 0]
    back = np.empty_like(linear)
    back[:, 0, 0], back[:, 1, 1], back[:, 0, 1], back[:, 1, 0] = linear[:, 1, 1], linear[:, 0, 0], -linear[:, 0, 1], -linear[:, 1, 0]
    turned = warps[:, :, :2] @ (back / det[:, None, None])
    place = warps[:, :, 2] - (turned @ d[:, :2, None])[..., 0]
    return np.concatenate([turned, place[..., None]], axis=2).astype(np.float32)


def _judge(picture: npt.NDArray[np.uint8], part: _Part, warps: Floats, most: Floats) -> Fit:
    known = part.known
    weights, gain, known[:, 8], scale = _residual(cut(picture, warps), part.values, most, _WINDOW, rounds=3)
    sums = (known * weights[:, None]) @ known.transpose(0, 2, 1)
    light = known[:, 6:]
    fits = weights >= GROSS * _WINDOW
    spread = _unsure(sums[:, :6, :6] * (gain**2)[:, None, None])
    return Fit(
        warps,
        _likeness(sums[:, 6:, 6:], gain),
        _likeness((light * _WINDOW) @ light.transpose(0, 2, 1), gain),
        scale.astype(np.float32),
        fits[:, _CENTRE].mean(1).astype(np.float32),
        (fits @ (_WINDOW / _WINDOW.sum())).astype(np.float32),
        (KIN * scale * spread).astype(np.float32),
    )


def _likeness(sums: npt.NDArray[Any], gain: Floats) -> Floats:
    """Weighted normalised cross-correlation of picture and model; 0 where either is flat.

    sums : float32 [shape=(n, 3, 3)] weighted products of (1, template, residual). The picture is gain * template + residual, the model gain * template.
    """
    exact = sums.astype(np.float64)
    means = exact[:, 0, 1:] / exact[:, 0, :1]
    spread = exact[:, 1:, 1:] - means[:, :, None] * exact[:, 0, None, 1:]
    model = gain**2 * spread[:, 0, 0]
    both = model + gain * spread[:, 0, 1]
    below = np.sqrt(np.maximum(model * (both + gain * spread[:, 0, 1] + spread[:, 1, 1]), 0))
    return np.asarray(np.where(below > 1e-3, both / np.maximum(below, 1e-3), 0), dtype=np.float32)
