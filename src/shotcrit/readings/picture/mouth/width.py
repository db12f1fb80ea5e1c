"""How wide a mouth is: its two corners, looked for where the marked mouths, bent to the frame's own opening, have theirs."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.mouth.warp import MarkedMouth, bent

Floats = npt.NDArray[np.float64]
Patch = npt.NDArray[np.float32]

HALF = (0.16, 0.14)
"""Half width and height of what is compared around a corner, mouth widths at rest (guess)."""
SEEK = (0.24, 0.12)
"""How far along and across the mouth a corner is looked for, mouth widths at rest (guess)."""
SHARP = 0.04
"""Difference of likeness at which one marked mouth has clearly more to say than another (guess)."""
SPREAD = 0.25
"""Standard error of a corner, mouth widths, at a likeness of 0: falls with the root of what is missing to 1 (calibrated on generated heads)."""
LEAST = 0.012
"""Mouth widths at rest (guess)."""


def widths(patches: list[Patch], mouths: list[MarkedMouth], openings: Floats, rest: float, seam: float) -> tuple[Floats, Floats]:
    """(width, error) [shape=(n,)] over the width at rest, of steadied patches whose openings [shape=(n,)] are known."""
    found = [_one(patch, mouths, float(gap) * rest, rest, seam) for patch, gap in zip(patches, openings, strict=True)]
    return np.array([f[0] for f in found]), np.array([f[1] for f in found])


def _one(patch: Patch, mouths: list[MarkedMouth], gap: float, rest: float, seam: float) -> tuple[float, float]:
    soft = cv2.GaussianBlur(patch, (0, 0), 1.0)
    values, scores = [], []
    for mouth in mouths:
        if not mouth.open and gap > mouth.gap + 0.1 * rest:
            continue
        model = bent(mouth, gap, mouth.width, seam) if mouth.open else mouth.patch
        model = np.asarray(cv2.GaussianBlur(model, (0, 0), 1.0), dtype=np.float32)
        axis = mouth.frame()[1][0]
        left, good_left = _find(soft, model, mouth.left, rest)
        right, good_right = _find(soft, model, mouth.right, rest)
        values.append(abs(float(axis @ (left - right))) / rest)
        scores.append(min(good_left, good_right))
    if not values:
        return float("nan"), float("nan")
    score = np.array(scores)
    trust = np.exp((score - score.max()) / SHARP)
    trust /= trust.sum()
    mean = float(trust @ values)
    own = SPREAD * np.sqrt(max(0.0, 1 - float(score.max()))) * 0.5
    return mean, float(np.sqrt(own**2 + trust @ (np.array(values) - mean) ** 2 + LEAST**2))


def _find(patch: npt.NDArray[np.float32], model: Patch, corner: Floats, rest: float) -> tuple[Floats, float]:
    """Where the surroundings of `corner` in `model` lie in `patch`, px, finer than a pixel, and how like they are."""
    half = np.maximum(np.round(np.array(HALF) * rest).astype(int), 3)
    seek = np.maximum(np.round(np.array(SEEK) * rest).astype(int), 2)
    middle = np.round(corner).astype(int)
    pad = int(max(half + seek)) + 2
    wide = cv2.copyMakeBorder(patch, pad, pad, pad, pad, cv2.BORDER_REPLICATE)
    own = cv2.copyMakeBorder(model, pad, pad, pad, pad, cv2.BORDER_REPLICATE)
    x, y = np.clip(middle, 0, np.array(patch.shape[::-1]) - 1) + pad
    look = own[y - half[1] : y + half[1] + 1, x - half[0] : x + half[0] + 1]
    reach = half + seek
    area = wide[y - reach[1] : y + reach[1] + 1, x - reach[0] : x + reach[0] + 1]
    score = cv2.matchTemplate(area, look, cv2.TM_CCOEFF_NORMED)
    _, best, _, (u, v) = cv2.minMaxLoc(score)
    shift = np.array([_peak(score[v], u) - seek[0], _peak(score[:, u], v) - seek[1]])
    return corner + shift, float(best)


def _peak(line: npt.NDArray[np.float32], at: int) -> float:
    """The top of `line` near its greatest value `at`, by a parabola."""
    if not 0 < at < len(line) - 1:
        return float(at)
    a, b, c = (float(v) for v in line[at - 1 : at + 2])
    bend = a - 2 * b + c
    return at + (0.5 * (a - c) / bend if bend < 0 else 0.0)
