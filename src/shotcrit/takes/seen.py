"""What is needed to hold a glance of one take against a glance of another: the same framing, the same grade, and how much noise to expect."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.seen import Box

Floats = npt.NDArray[np.float32]
Steps = npt.NDArray[np.int64]

CURVE = np.linspace(0, 100, 33)
"""Percents at which two grades are compared."""
PAIRS = 24
"""Pictures by which the framing is found (guess: a few a shot)."""
LEAST_NOISE = 0.3
"""Luma steps: rounding to 8 bits, averaged over a square of a compressed picture (guess)."""
LEAST_SHIFT = 0.35
"""Squares by which any corner has to lie elsewhere before the framing counts as another: 10 px of 1920 (guess)."""
FLAT = 1.0
"""Luma steps squared; a picture that varies less has nothing to be known by (guess: black, white, one colour)."""
BETTER = 0.8
"""Part of the difference that another framing may leave, to be believed (guess)."""
BEYOND = 60.0
"""Luma steps past the ends of a known grade, over which it runs on unbent."""
SMOOTH = 1.5
"""Squares, Gaussian, before framings are compared."""
ZOOMS = (1.0, 1.1, 0.91, 1.22, 0.82)
"""Enlargements that a framing is looked for from."""


@dataclass(frozen=True)
class Sight:
    """How the old take's glances are to be seen, to be held against the new one's.

    framing : float32 [shape=(2, 3)] squares of the new glance to squares of the old: old = framing @ (x, y, 1)
    shown : bool [shape=(h, w)] squares of the new picture that the old one shows too
    grade_from, grade_to : the new luma of some old lumas, rising, by which all others go
    noise : luma steps by which one and the same picture differs from take to take, one standard deviation
    """

    framing: Floats
    shown: npt.NDArray[np.bool_]
    grade_from: Floats
    grade_to: Floats
    noise: float

    @property
    def reframed(self) -> bool:
        return bool(_corners_moved(self.framing, self.shown.shape) > LEAST_SHIFT)

    @property
    def graded(self) -> bool:
        """Whether the new take is graded otherwise: by more than noise and compression do."""
        return bool(np.abs(self.grade_to - self.grade_from).max() > max(4.0, 6 * self.noise))

    def of(self, glances: Floats) -> Floats:
        """The old take's glances [shape=(k, h, w)] in the new one's framing and grade."""
        seen = glances if not self.reframed else np.stack([_framed(one, self.framing) for one in glances])
        return np.interp(seen.ravel(), self.grade_from, self.grade_to).astype(np.float32).reshape(seen.shape)


def first_sight(old: Floats, new: Floats) -> Sight:
    """Before anything is lined up: the same framing; the grade by which the takes' lumas are spread alike."""
    shape = old.shape[1:]
    start, to = (np.percentile(glances, CURVE).astype(np.float64) for glances in (old, new))
    return Sight(np.eye(2, 3, dtype=np.float32), np.ones(shape, np.bool_), *_curve(start, to), noise=2.0)


def second_sight(sight: Sight, old: Floats, new: Floats, way: Steps) -> Sight:
    """After a first lining up (way: old frame of each new one, -1 for none): the framing, the grade and the noise of what belongs together."""
    pairs = _telling_pairs(sight, old, new, way)
    if len(pairs) == 0:
        return sight
    before, after = old[way[pairs]], new[pairs]
    sight = _reframed(sight, before, after)
    return _regraded(sight, before, after)


def framed_box(sight: Sight, box: Box) -> Box:
    """A part of the old picture, as it lies on the new one."""
    high, wide = sight.shown.shape
    back = cv2.invertAffineTransform(sight.framing)
    corners = np.array([[box.left * wide, box.top * high, 1], [box.right * wide, box.bottom * high, 1]], np.float32) - np.array(
        [0.5, 0.5, 0]
    )
    (left, top), (right, bottom) = corners @ back.T + 0.5
    return Box(float(left / wide), float(top / high), float(right / wide), float(bottom / high))


def framing_in_parts(sight: Sight) -> tuple[float, float, float, float, float, float]:
    """(a, b, c, d, e, f): a point (x, y) of the new picture is (a x + b y + c, d x + e y + f) of the old one, both in parts of width and height."""
    high, wide = sight.shown.shape
    (a, b, c), (d, e, f) = ([float(v) for v in row] for row in sight.framing)
    return a, b * high / wide, (c + 0.5 - 0.5 * (a + b)) / wide, d * wide / high, e, (f + 0.5 - 0.5 * (d + e)) / high


def likeness(before: Floats, after: Floats) -> Floats:
    """float32 [shape=(n,)]: correlation of the squares [shape=(n, squares)] of each picture with another's; 0 where one of them is flat."""
    one, other = (g - g.mean(axis=1, keepdims=True) for g in (before, after))
    spread = np.sqrt((one**2).mean(axis=1) * (other**2).mean(axis=1))
    return np.asarray(np.where(spread > FLAT, (one * other).mean(axis=1) / np.maximum(spread, FLAT), 0), np.float32)


def _curve(start: npt.NDArray[np.float64], to: npt.NDArray[np.float64]) -> tuple[Floats, Floats]:
    """Rising, and carried on past both ends as it is there."""
    rising = np.concatenate([[True], np.diff(start) > 0.25])
    start, to = start[rising], np.maximum.accumulate(to[rising])
    ends = np.array([-BEYOND, BEYOND])
    return np.pad(start, 1, "edge").astype(np.float32) + _at_ends(start, ends), np.pad(to, 1, "edge").astype(np.float32) + _at_ends(
        to, ends
    )


def _at_ends(curve: npt.NDArray[np.float64], add: npt.NDArray[np.float64]) -> Floats:
    out = np.zeros(len(curve) + 2, np.float32)
    out[[0, -1]] = add
    return out


def _telling_pairs(sight: Sight, old: Floats, new: Floats, way: Steps) -> Steps:
    """New frames, spread over the takes, whose picture has something to be known by: of each stretch the one that fits best."""
    known = np.flatnonzero(way >= 0)
    if len(known) == 0:
        return known
    chosen = []
    for part in np.array_split(known, min(PAIRS, len(known))):
        some = part[:: max(1, len(part) // 4)]
        after, before = new[some], sight.of(old[way[some]])
        spread = after.std(axis=(1, 2))
        apart = np.abs(after - before).mean(axis=(1, 2)) / np.maximum(spread, 1)
        best = int(apart.argmin())
        if spread[best] > 4:
            chosen.append(some[best])
    return np.array(chosen, np.int64)


def _framed(glance: Floats, framing: Floats) -> Floats:
    size = glance.shape[::-1]
    return np.asarray(cv2.warpAffine(glance, framing, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE))


def _corners_moved(framing: Floats, shape: tuple[int, ...]) -> float:
    high, wide = shape
    corners = np.array([[0, 0, 1], [wide, 0, 1], [0, high, 1], [wide, high, 1]], np.float32)
    return float(np.linalg.norm(corners @ framing.T - corners[:, :2], axis=1).max())


def _reframed(sight: Sight, before: Floats, after: Floats) -> Sight:
    """The framing that most of the pairs agree on, where it explains them clearly better than the one before."""
    found = [one for pair in zip(before, after, strict=True) if (one := _fit(*pair)) is not None]
    if len(found) < max(1, len(before) // 3):
        return sight
    framing = np.median(found, axis=0).astype(np.float32)
    shape = before.shape[1:]
    if _corners_moved(framing - sight.framing + np.eye(2, 3, dtype=np.float32), shape) <= LEAST_SHIFT:
        return sight
    inside = _shown(framing, shape)
    if inside.mean() < 0.3:
        return sight
    now, then = (
        np.median([_unlike(_framed(b, f), a, inside) for b, a in zip(before, after, strict=True)]) for f in (framing, sight.framing)
    )
    return replace(sight, framing=framing, shown=inside) if now < BETTER * then else sight


def _shown(framing: Floats, shape: tuple[int, ...]) -> npt.NDArray[np.bool_]:
    whole = cv2.warpAffine(np.ones(shape, np.float32), framing, shape[::-1], flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    return np.asarray(whole > 0.99)


def _unlike(one: Floats, other: Floats, inside: npt.NDArray[np.bool_]) -> float:
    """1 - correlation over some squares."""
    a, b = one[inside] - one[inside].mean(), other[inside] - other[inside].mean()
    return float(1 - (a * b).sum() / max(float(np.sqrt((a * a).sum() * (b * b).sum())), 1e-6))


def _fit(before: Floats, after: Floats) -> Floats | None:
    """Squares of the new to squares of the old by the enhanced correlation coefficient (Evangelidis & Psarakis 2008), from the likeliest zoom; or None."""
    one, other = (cv2.GaussianBlur(g, (0, 0), SMOOTH) for g in (before, after))
    starts = sorted(
        (_unlike(_framed(one, zoomed), other, _shown(zoomed, one.shape)), k) for k, zoomed in enumerate(map(_zoom(one.shape), ZOOMS))
    )
    start = _zoom(one.shape)(ZOOMS[starts[0][1]])
    ends = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 40, 1e-4)
    try:
        alike, found = cv2.findTransformECC(other, one, start.copy(), cv2.MOTION_AFFINE, ends, None, 1)
    except cv2.error:
        return None
    turned = np.abs(found[:, :2] - np.diag(np.diag(found[:, :2]))).max()
    scale = np.diag(found[:, :2])
    return np.asarray(found, np.float32) if alike > 0.8 and turned < 0.05 and (scale > 0.5).all() and (scale < 2).all() else None


def _zoom(shape: tuple[int, ...]) -> Callable[[float], Floats]:
    high, wide = shape

    def about_middle(scale: float) -> Floats:
        return np.array([[scale, 0, (1 - scale) * (wide - 1) / 2], [0, scale, (1 - scale) * (high - 1) / 2]], np.float32)

    return about_middle


def _regraded(sight: Sight, before: Floats, after: Floats) -> Sight:
    """The grade by medians of what lies at the same place, and the noise that is left."""
    inside = sight.shown
    framed = before if not sight.reframed else np.stack([_framed(one, sight.framing) for one in before])
    one, other = framed[:, inside].ravel(), after[:, inside].ravel()
    edges = np.unique(np.percentile(one, CURVE))
    bins = np.clip(np.searchsorted(edges, one, side="right") - 1, 0, max(len(edges) - 2, 0))
    start, to = [], []
    for k in range(max(len(edges) - 1, 1)):
        here = bins == k
        if here.sum() >= 8:
            start.append(np.median(one[here]))
            to.append(np.median(other[here]))
    grade = _curve(np.array(start), np.array(to)) if len(start) > 1 else (sight.grade_from, sight.grade_to)
    better = replace(sight, grade_from=grade[0], grade_to=grade[1])
    apart = np.abs(other - np.interp(one, *grade))
    noise = max(LEAST_NOISE, 1.4826 * float(np.median(apart)))
    return replace(better, noise=min(noise, 4.0))
