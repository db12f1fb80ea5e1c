"""Registering small patches of a frame to templates: affine, with gain and bias, robust, all patches at once.

Inverse-compositional Lucas-Kanade (Baker & Matthews 2004, 'Lucas-Kanade 20 years on', IJCV 56:221-255) with iteratively reweighted
least squares: pixels that do not fit (something in front, the background beside) lose their say instead of dragging the patch along.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.marks.tiles import Tiles

Floats = npt.NDArray[np.float32]

RADIUS = 13
"""px at working size; a patch is (2 * RADIUS + 1) square (guess: a nose or a button at 960 px)."""
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


def _grid() -> Floats:
    line = np.arange(-RADIUS, RADIUS + 1, dtype=np.float32)
    return np.stack(np.meshgrid(line, line), axis=-1).reshape(-1, 2)


GRID = _grid()
_SIDE = 2 * RADIUS + 1
_DISTANCE = np.hypot(GRID[:, 0], GRID[:, 1])
_WINDOW = np.exp(-0.5 * (_DISTANCE / (WINDOW * RADIUS)) ** 2).astype(np.float32)
_HALF = slice(None, None, 2)
"""Every other pixel, as on a chess board, since a row has an odd number of them: steps towards the place need no more, neighbours being alike."""
_ASKED = np.concatenate([GRID, np.ones((len(GRID), 1), np.float32)], axis=1).T.copy()
_ASKED_HALF, _WINDOW_HALF = np.ascontiguousarray(_ASKED[:, _HALF]), np.ascontiguousarray(_WINDOW[_HALF])
_CENTRE = _DISTANCE <= CENTRE
_DIAGONAL = np.arange(6)
_STILL = np.array([ENOUGH] * 2 + [ENOUGH_RIM] * 4, np.float32)
_DAMP = np.array([1e-3] * 2 + [FIRM] * 4)


@dataclass
class Templates:
    """What patches look like where they were placed. All arrays have one row a patch.

    known : float32 [shape=(n, 8, k)] what a step sums over: d grey / d (x, y, xx, xy, yx, yy), linear parts per RADIUS px; even light; grey about its mean
    level : float32 [shape=(n,)] that mean; loose : float32 [shape=(n,)] standard error of the place for one grey level of noise, px
    """

    known: Floats
    level: Floats
    loose: Floats

    def pick(self, rows: npt.NDArray[np.intp]) -> Templates:
        return Templates(self.known[rows], self.level[rows], self.loose[rows])

    def put(self, rows: npt.NDArray[np.intp], other: Templates) -> None:
        self.known[rows], self.level[rows], self.loose[rows] = other.known, other.level, other.loose

    def grey(self, row: int) -> Floats:
        """float32 [shape=(side, side)]"""
        return (self.known[row, 7] + self.level[row]).reshape(_SIDE, _SIDE)


def joined(parts: Sequence[Templates]) -> Templates:
    """Rows of all parts, one after the other."""
    return Templates(*(np.concatenate([getattr(part, name) for part in parts]) for name in ("known", "level", "loose")))


def make_templates(tiles: Tiles, rows: npt.NDArray[np.intp], warps: Floats) -> Templates:
    """Templates of smoothed `tiles` under `warps`, float32 [shape=(n, 2, 3)], each in the tile that `rows` says."""
    values = tiles.cut(rows, warps, _ASKED)
    square = values.reshape(-1, _SIDE, _SIDE)
    gx, gy = (np.asarray(np.gradient(square, axis=axis)).reshape(values.shape) for axis in (2, 1))
    x, y = GRID[:, 0] / RADIUS, GRID[:, 1] / RADIUS
    level = values.mean(1)
    light = (np.ones_like(values), values - level[:, None])
    known = np.stack([gx, gy, gx * x, gx * y, gy * x, gy * y, *light], axis=1).astype(np.float32)
    return Templates(known, level, unsureness(known[:, :6], np.broadcast_to(_WINDOW, values.shape)))


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


@dataclass(frozen=True)
class Wanted:
    """Patches to be fitted, one row each.

    tile : which tile each lies in; warps : float32 [shape=(n, 2, 3)] where to start
    usual : float32 [shape=(n,)] residual, grey, that each has had so far: what is much worse is somebody else's; nan = not known
    most : most steps; hopeless : likeness of the whole window under which a patch is left as it lies after FEW steps
    """

    templates: Templates
    tile: npt.NDArray[np.intp]
    warps: Floats
    usual: Floats
    most: int = STEPS
    hopeless: float = -1.0


def register(tiles: Tiles, wanted: Sequence[Wanted]) -> list[Fit]:
    """Fit what is wanted, all at once, to smoothed `tiles`."""
    wanted_all = [len(one.warps) for one in wanted]
    templates = joined([one.templates for one in wanted])
    tile = np.concatenate([one.tile for one in wanted])
    warps = np.concatenate([one.warps for one in wanted]).astype(np.float32)
    usual = np.concatenate([one.usual for one in wanted])
    steps, hopeless = (np.repeat([getattr(one, name) for one in wanted], wanted_all) for name in ("most", "hopeless"))
    most = np.maximum(np.where(np.isfinite(usual), 1.6 * usual + 1.0, np.inf), NOISE_FLOOR).astype(np.float32)
    _iterate(tiles, _Part(np.ascontiguousarray(templates.known[:, :, _HALF]), tile, most), warps, steps, hopeless)
    fit = _judge(tiles, _Part(templates.known, tile, most), warps)
    edges = np.cumsum(wanted_all)[:-1]
    fields = [np.split(getattr(fit, name), edges) for name in Fit.__dataclass_fields__]
    return [Fit(*one) for one in zip(*fields, strict=True)]


def _iterate(tiles: Tiles, part: _Part, warps: Floats, steps: npt.NDArray[np.intp], hopeless: npt.NDArray[np.float64]) -> None:
    """Take `warps` to where their patches lie, in place."""
    live = np.arange(len(warps))
    for step in range(int(steps.max(initial=0))):
        delta = _step(tiles, part, warps[live])
        warps[live] = _compose(warps[live], delta)
        goes_on = (np.abs(delta) > _STILL).any(axis=1) & (steps[live] > step + 1)
        if step + 1 == FEW and goes_on.any():
            rows = np.flatnonzero(goes_on)
            goes_on[rows] = _whole(tiles, part.pick(rows), warps[live[rows]]) >= hopeless[live[rows]]
        if not goes_on.any():
            break
        if not goes_on.all():
            rows = np.flatnonzero(goes_on)
            live, part = live[rows], part.pick(rows)


@dataclass
class _Part:
    """Pixels of patches, all or every other one. known : see Templates; most : float32 [shape=(n,)] largest scale of residuals that is believed
    weights : the last step's, None before the first
    """

    known: Floats
    tile: npt.NDArray[np.intp]
    most: Floats
    weights: Floats | None = None

    def pick(self, rows: npt.NDArray[np.intp]) -> _Part:
        return _Part(self.known[rows], self.tile[rows], self.most[rows], None if self.weights is None else self.weights[rows])

    @property
    def window(self) -> Floats:
        return _WINDOW if self.known.shape[2] == len(_WINDOW) else _WINDOW_HALF

    def seen(self, tiles: Tiles, warps: Floats) -> Floats:
        return tiles.cut(self.tile, warps, _ASKED if self.known.shape[2] == len(GRID) else _ASKED_HALF)


def _whole(tiles: Tiles, part: _Part, warps: Floats) -> Floats:
    """Likeness of the whole window, float32 [shape=(n,)]."""
    _, gain, rest, _ = _residual(part, part.seen(tiles, warps), rounds=2)
    return _likeness(part.known[:, 6:], rest, part.window, gain)


def _step(tiles: Tiles, part: _Part, warps: Floats) -> Floats:
    """One Gauss-Newton step: [shape=(n, 6)] x, y in px, linear part per RADIUS."""
    part.weights, by, rest, _ = _residual(part, part.seen(tiles, warps), rounds=2 if part.weights is None else 1)
    weighted = part.known * part.weights[:, None]
    sums = (weighted @ part.known.transpose(0, 2, 1)).astype(np.float64)
    pull = (weighted[:, :6] @ rest[:, :, None])[..., 0] * by[:, None]
    # Gain and bias are taken out of the slopes, so that shading cannot pose as movement: even light and contrast, orthonormal under the weights.
    total = sums[:, 6, 6]
    mean = sums[:, 6, 7] / total
    spread = np.maximum(sums[:, 7, 7] - mean * sums[:, 6, 7], 1e-6)
    even = sums[:, :6, 6] / np.sqrt(total)[:, None]
    contrast = (sums[:, :6, 7] - mean[:, None] * sums[:, :6, 6]) / np.sqrt(spread)[:, None]
    light = np.stack([even, contrast], axis=2)
    normal = (sums[:, :6, :6] - light @ light.transpose(0, 2, 1)) * (by * by)[:, None, None]
    normal[:, _DIAGONAL, _DIAGONAL] += (normal[:, 0, 0] + normal[:, 1, 1])[:, None] / 2 * _DAMP + 1e-3
    return np.linalg.solve(normal, pull[..., None])[..., 0].clip(-3.0, 3.0).astype(np.float32)


def _residual(part: _Part, seen: Floats, *, rounds: int) -> tuple[Floats, npt.NDArray[np.float64], Floats, Floats]:
    """(weights, gain, seen - model, scale), gain and bias of the model fitted robustly, from the last step's weights or from the window."""
    light = part.known[:, 6:8]
    values, window = light[:, 1], part.window
    both = np.concatenate([light, seen[:, None]], axis=1).transpose(0, 2, 1)
    weights = np.broadcast_to(window, seen.shape) if part.weights is None else part.weights
    for _ in range(rounds):
        sums = ((light * weights[:, None]) @ both).astype(np.float64)
        mean_model, mean_seen = (sums[:, 0, 1:] / sums[:, 0, :1]).T
        along, own = sums[:, 1, 2] - sums[:, 1, 0] * mean_seen, sums[:, 1, 1] - sums[:, 1, 0] * mean_model
        gain = (along / np.maximum(own, 1e-6)).clip(0.3, 3.0)
        rest = seen - gain.astype(np.float32)[:, None] * values
        rest -= (mean_seen - gain * mean_model).astype(np.float32)[:, None]
        scale = (1.4826 * _median(np.abs(rest[:, ::3]))).clip(NOISE_FLOOR, part.most)
        weights = rest * (1 / (TAIL * scale)).astype(np.float32)[:, None]
        weights *= weights
        weights += 1
        weights = np.divide(window, weights, out=weights)
    return weights, gain, rest, scale


def _median(values: Floats) -> Floats:
    """The upper median of rows [shape=(n,)]; partition is several times faster than numpy's median on short rows."""
    middle = values.shape[1] // 2
    values.partition(middle, axis=1)
    return values[:, middle]


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


def _judge(tiles: Tiles, part: _Part, warps: Floats) -> Fit:
    known = part.known
    weights, gain, rest, scale = _residual(part, part.seen(tiles, warps), rounds=3)
    slopes = known[:, :6]
    fits = weights >= GROSS * _WINDOW
    spread = _unsure(((slopes * weights[:, None]) @ slopes.transpose(0, 2, 1)) * (gain**2).astype(np.float32)[:, None, None])
    return Fit(
        warps,
        _likeness(known[:, 6:], rest, weights, gain),
        _likeness(known[:, 6:], rest, _WINDOW, gain),
        scale.astype(np.float32),
        fits[:, _CENTRE].mean(1).astype(np.float32),
        (fits @ (_WINDOW / _WINDOW.sum())).astype(np.float32),
        (KIN * scale * spread).astype(np.float32),
    )


def _likeness(light: Floats, rest: Floats, weights: Floats, gain: npt.NDArray[np.float64]) -> Floats:
    """Weighted normalised cross-correlation of picture and model; 0 where either is flat.

    light : float32 [shape=(n, 2, k)] even light and template; rest : [shape=(n, k)]. The picture is gain * template + rest, the model gain * template.
    """
    three = np.concatenate([light, rest[:, None]], axis=1)
    exact = ((three * (weights[:, None] if weights.ndim > 1 else weights)) @ three.transpose(0, 2, 1)).astype(np.float64)
    means = exact[:, 0, 1:] / exact[:, 0, :1]
    spread = exact[:, 1:, 1:] - means[:, :, None] * exact[:, 0, None, 1:]
    model = gain**2 * spread[:, 0, 0]
    both = model + gain * spread[:, 0, 1]
    below = np.sqrt(np.maximum(model * (both + gain * spread[:, 0, 1] + spread[:, 1, 1]), 0))
    return np.asarray(np.where(below > 1e-3, both / np.maximum(below, 1e-3), 0), dtype=np.float32)
