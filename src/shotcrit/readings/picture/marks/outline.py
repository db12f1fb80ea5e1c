"""A mark on plain cloth beside its outline: nothing there can be followed but the outline itself, and that only across (the aperture problem).

Short profiles are cut across the outline on the frame where the mark was placed, and found again along the same normals on every other frame. What they
say together with what is known of the movement along (from the character's other marks) gives the outline's height, and how surely: little is known
where the outline runs straight and steep.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from shotcrit.readings.picture.marks.tiles import smoothed

Floats = npt.NDArray[np.float64]
Picture = npt.NDArray[np.uint8]

NEAR = 14
"""px at working size; an outline further from the mark than this is another thing's (guess: a thumb's width on a medium shot)."""
ALONG, EVERY = 24, 3
"""px; how far the outline is used to each side of the mark, and the distance between two profiles (guess)."""
HALF, SEARCH, FINE = 5.0, 8.0, 0.5
"""px; half a profile, how far along its normal it is looked for, and the distance between two of its samples (guess)."""
CONTRAST, OVER_NOISE = 8.0, 5.0
"""Grey levels across the outline, and times the picture's noise, that it must have at least (guess)."""
ALIKE = 0.85
"""Correlation under which a profile is not the outline's (guess)."""
FEWEST = 7
"""Profiles that must be found."""
LEAST = 0.08
"""px at working size; an outline is nowhere known better than this (calibrated on generated shoulders before busy backgrounds)."""
KIN = 1.6
"""How far neighbouring profiles err together: the same background slides behind them (calibrated on the same)."""
_REACH = np.arange(-HALF - SEARCH, HALF + SEARCH + FINE / 2, FINE)
_WIDTH = round(2 * HALF / FINE) + 1
_MIDDLE = round(SEARCH / FINE)


@dataclass(frozen=True)
class Outline:
    """spots, normals : float64 [shape=(k, 2)] px, unit; profiles : [shape=(k, _WIDTH)], each about its mean and of length 1"""

    spots: Floats
    normals: Floats
    profiles: Floats


@dataclass(frozen=True)
class Beforehand:
    """What is known of the mark's way since it was placed before the outline is asked: px, and standard errors of x and y."""

    way: Floats
    error: Floats


def find_outline(picture: Picture, spot: tuple[float, float]) -> Outline | None:
    """The outline beside `spot`, px; None where none is strong enough, or not long enough."""
    start = _strongest(picture, spot)
    if start is None:
        return None
    middle, normal, contrast = start
    spots = _trace(picture, middle, normal)
    if len(spots) < FEWEST:
        return None
    normals = _normals(spots, normal)
    steps = _steps(picture, spots, normals)
    keep = (np.sign(steps) == np.sign(contrast)) & (np.abs(steps) > max(CONTRAST, OVER_NOISE * noise_of(picture)))
    if keep.sum() < FEWEST:
        return None
    profiles, real = _unit(_sample(smoothed(picture), spots[keep], normals[keep], _REACH[_MIDDLE : _MIDDLE + _WIDTH]))
    return Outline(spots[keep][real], normals[keep][real], profiles[real]) if real.sum() >= FEWEST else None


def noise_of(picture: Picture) -> float:
    """Grey levels, from what a difference of two Laplacians leaves (Immerkaer 1996, 'Fast noise variance estimation', CVIU 64:300-302), by its median."""
    kernel = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32) / 6
    rest = cv2.filter2D(picture[::2].astype(np.float32), -1, kernel)
    return max(0.7, 1.4826 * float(np.median(np.abs(rest))))


def _slopes(picture: Picture, spot: Floats, reach: int) -> tuple[Floats, Floats, Floats]:
    """(d grey / dx, d grey / dy, px of the first row and column) about a spot, slightly smoothed."""
    left, top = (int(v) for v in np.maximum(np.rint(spot) - reach, 0))
    area = picture[top : round(spot[1]) + reach + 1, left : round(spot[0]) + reach + 1].astype(np.float64)
    if min(area.shape, default=0) < reach:
        none = np.zeros((0, 0))
        return none, none, np.zeros(2)
    soft = cv2.GaussianBlur(area, (0, 0), 1.5)
    return (
        cv2.Sobel(soft, cv2.CV_64F, 1, 0, ksize=3, scale=1 / 8),
        cv2.Sobel(soft, cv2.CV_64F, 0, 1, ksize=3, scale=1 / 8),
        np.array([left, top], float),
    )


def _strongest(picture: Picture, spot: tuple[float, float]) -> tuple[Floats, Floats, float] | None:
    """(px, unit normal that points up, grey step along it) of the strongest edge near `spot`, nearer ones first."""
    at = np.array(spot, float)
    gx, gy, first = _slopes(picture, at, NEAR)
    if not gx.size:
        return None
    y, x = np.mgrid[0 : gx.shape[0], 0 : gx.shape[1]]
    away = np.hypot(x + first[0] - at[0], y + first[1] - at[1])
    score = np.hypot(gx, gy) * np.exp(-0.5 * (away / (NEAR / 2)) ** 2) * (away <= NEAR)
    row, column = np.unravel_index(int(np.argmax(score)), score.shape)
    slope = np.array([gx[row, column], gy[row, column]])
    size = float(np.linalg.norm(slope))
    if size < 1:
        return None
    normal = slope / size
    sign = -1.0 if normal[1] > 0 else 1.0
    return first + np.array([column, row], float), sign * normal, sign * size


def _trace(picture: Picture, middle: Floats, normal: Floats) -> Floats:
    """Points of the outline to both sides of `middle`, px, in order along it."""
    gx, gy, first = _slopes(picture, middle, ALONG + NEAR)
    if not gx.size:
        return np.zeros((0, 2))
    sides = [_one_side(gx, gy, first, middle, normal, way) for way in (-1.0, 1.0)]
    return np.array([*sides[0][::-1], *sides[1][1:]]).reshape(-1, 2)


def _one_side(gx: Floats, gy: Floats, first: Floats, middle: Floats, normal: Floats, way: float) -> list[Floats]:
    """From the middle outwards, as long as the edge goes on and does not turn."""
    found: list[Floats] = []
    at, ahead = middle.copy(), way * np.array([-normal[1], normal[0]])
    near = np.arange(-3, 3.01, 0.5)
    strength = 0.0
    for _ in range(ALONG // EVERY + 1):
        across = way * np.array([ahead[1], -ahead[0]])
        line = (at + near[:, None] * across - first).astype(np.float32)
        slopes = [cv2.remap(g.astype(np.float32), line[None, :, 0], line[None, :, 1], cv2.INTER_LINEAR)[0] for g in (gx, gy)]
        edge = np.abs(slopes[0] * across[0] + slopes[1] * across[1])
        best = int(np.argmax(edge))
        if found and (edge[best] < strength / 3 or best in (0, len(near) - 1)):
            break
        strength = max(strength, float(edge[best]))
        at = at + near[best] * across
        if found:
            turn = at - found[-1]
            ahead = 0.5 * ahead + 0.5 * turn / max(float(np.linalg.norm(turn)), 1e-6)
            ahead /= np.linalg.norm(ahead)
        found.append(at.copy())
        at = at + EVERY * ahead
    return found


def _normals(spots: Floats, up: Floats) -> Floats:
    """Unit normals [shape=(k, 2)] on a parabola through the points, to the side of `up`."""
    along = np.array([-up[1], up[0]])
    a, b = (spots - spots.mean(0)) @ along, (spots - spots.mean(0)) @ up
    slope = np.polyval(np.polyder(np.polyfit(a, b, 2)), a)
    normals = up[None] - slope[:, None] * along[None]
    return np.asarray(normals / np.linalg.norm(normals, axis=1, keepdims=True))


def _steps(picture: Picture, spots: Floats, normals: Floats) -> Floats:
    """Grey on the normal's far side less that on the near side, [shape=(k,)]."""
    values = _sample(picture, spots, normals, np.array([-4.0, -3.0, 3.0, 4.0]))
    return np.asarray(values[:, 2:].mean(1) - values[:, :2].mean(1))


def _sample(picture: Picture, spots: Floats, normals: Floats, reach: Floats) -> Floats:
    """Grey along each normal, [shape=(k, len(reach))], the mean of three lines a px apart."""
    along = np.stack([-normals[:, 1], normals[:, 0]], axis=1)
    lines = spots[None] + np.array([-1.0, 0.0, 1.0])[:, None, None] * along[None]
    at = (lines[:, :, None] + reach[None, None, :, None] * normals[None, :, None]).astype(np.float32)
    at = at.reshape(-1, len(reach), 2)
    grey = cv2.remap(picture, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(grey.reshape(3, -1, len(reach)).mean(0, dtype=np.float64))


def _unit(values: Floats) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """(values about their mean and of length 1 along the last axis, whether there was anything but evenness)"""
    apart = values - values.mean(-1, keepdims=True)
    size = np.linalg.norm(apart, axis=-1)
    return apart / np.maximum(size, 1e-6)[..., None], size > 1.0


def find_again(picture: Picture, outline: Outline, guess: Floats, before: Beforehand) -> tuple[Floats, float, float] | None:
    """(way since the mark was placed, standard error of its height by the profiles alone, and with what is not known along), px.

    guess : about where the outline went, px; None where too few profiles are found, or they do not agree
    """
    high, wide = picture.shape
    there = outline.spots + guess
    margin = HALF + 1
    inside = (there > margin).all(1) & (there < np.array([wide, high]) - 1 - margin).all(1)
    shifts, alike = _shifts(smoothed(picture), outline, there)
    good = inside & (alike > ALIKE)
    good &= np.abs(shifts - np.median(shifts[good])) < 2.0 if good.any() else False
    if good.sum() < FEWEST or good.mean() < 0.4:
        return None
    return _solve(outline.normals[good], shifts[good] + outline.normals[good] @ guess, before)


def _shifts(picture: Picture, outline: Outline, there: Floats) -> tuple[Floats, Floats]:
    """(how far each profile lies along its normal, px; correlation) near the shift on which all agree best."""
    windows, _ = _unit(sliding_window_view(_sample(picture, there, outline.normals, _REACH), _WIDTH, axis=1))
    score = np.einsum("ksw,kw->ks", windows, outline.profiles)
    common = int(np.argmax(np.clip(score, 0, 1).mean(0)))
    first, stop = max(1, common - 4), min(score.shape[1] - 1, common + 5)
    best = first + np.argmax(score[:, first:stop], axis=1)
    rows = np.arange(len(score))
    low, top, right = (score[rows, best + k] for k in (-1, 0, 1))
    bend = low - 2 * top + right
    part = np.where(bend < -1e-9, 0.5 * (low - right) / np.where(bend < -1e-9, bend, 1), 0).clip(-0.5, 0.5)
    return (best + part - _MIDDLE) * FINE, top


def _solve(normals: Floats, shifts: Floats, before: Beforehand) -> tuple[Floats, float, float] | None:
    """The way whose parts along all normals are the shifts, least squares with what is known beforehand, far ones discounted (Cauchy)."""
    known = np.diag(1 / before.error**2)
    trust, spread = np.ones(len(shifts)), 0.3
    for _ in range(5):
        weight = trust / (KIN * spread) ** 2
        cover = np.linalg.inv((normals * weight[:, None]).T @ normals + known)
        way = cover @ ((normals * weight[:, None]).T @ shifts + known @ before.way)
        rest = shifts - normals @ way
        spread = max(LEAST, 1.4826 * float(np.median(np.abs(rest))))
        trust = 1 / (1 + (rest / (2.385 * spread)) ** 2)
    upright = float(np.abs(normals[:, 1]).mean())
    quick = max(LEAST, KIN * spread / np.sqrt(float(trust.sum())) / max(upright, 0.1))
    return way, quick, float(np.hypot(np.sqrt(cover[1, 1]), LEAST))


__all__ = ["Beforehand", "Outline", "find_again", "find_outline", "noise_of"]
