"""Looking for a mark that was lost: around its last place, by how it looked when it was last seen, on a picture of half the size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.marks.register import RADIUS, Fit
from shotcrit.readings.picture.marks.tiles import Tiles

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]
Picture = npt.NDArray[np.uint8]

SEEK = (40, 6, 160)
"""px; how far around its last place a lost mark is looked for: at first, more with each frame, at most (guess)."""
HINT = 0.6
"""Likeness of a place, before any fitting, under which it is not tried (guess)."""
LIKELY = 0.85
"""The same of the best of all places, under which none is tried (guess: on the demo film true finds have 0.95 and more)."""
FOUND = 0.96
"""Likeness of the whole window at which a lost mark counts as found again (guess: on generated films true finds have 0.98, false ones 0.94)."""
ALONE = 0.06
"""How much liker the best place must be than the second best (guess)."""
SQUEEZE = 1.25
"""Ratio of a patch's two scales, against when it was last seen, above which it is another thing (guess)."""
GROWTH = 1.6
"""The same for the larger one (guess)."""
PEAKS = 4
"""Places that are tried."""
LOOSE = 8.0
"""px; the same where the flow was no witness and the proposal is the last speed carried on (guess)."""
ALIKE = 0.45
"""px of the half-size picture, Gaussian: makes it as smooth as a template that was smoothed and turned."""


class Sought:
    """Places where lost marks may be. owner : the row of the patch of each; warps : float32 [shape=(n, 2, 3)] from where to fit it; tile : where it lies"""

    def __init__(self, rows: Rows, found: Sequence[Floats], warps: Floats) -> None:
        """rows : of the patches that were looked for; found : places for each, [shape=(k, 2)]; warps : of all patches, when they were last seen"""
        self.owner: Rows = np.repeat(rows, [len(spots) for spots in found]).astype(np.intp)
        self.warps: Floats = warps[self.owner].copy()
        self.warps[:, :, 2] = np.concatenate([np.zeros((0, 2), np.float32), *found])
        self.tile: Rows = np.arange(len(self.owner))

    def fill(self, tiles: Tiles, first: int, pictures: Mapping[int, Picture], way: Rows) -> None:
        """Cut a tile for each, after the `first` ones that are there. pictures : by way; way : of all patches"""
        self.tile = first + np.arange(len(self.owner))
        tiles.make_room(first + len(self.owner))
        tiles.put(self.tile.tolist(), [pictures[one] for one in way[self.owner].tolist()], self.warps[:, :, 2])


def sights(after: Picture, look: Floats, warp: Floats, gone: float) -> Floats:
    """Places that look like a lost patch as it was last seen, float32 [shape=(PEAKS at most, 2)].

    look : grey, float32 [shape=(side, side)]; warp : [shape=(2, 3)] when it was last seen; gone : frames since
    """
    high, wide = after.shape
    x, y = (int(v) for v in warp[:, 2])
    reach = RADIUS + int(min(SEEK[0] + SEEK[1] * gone, SEEK[2]))
    left, top = max(0, x - reach), max(0, y - reach)
    area = after[top : min(high, y + reach + 1), left : min(wide, x + reach + 1)]
    size = (area.shape[1] // 2, area.shape[0] // 2)
    small = _as_last_seen(look, warp[:, :2].astype(np.float64))
    if size[1] <= small.shape[0] or size[0] <= small.shape[1]:
        return np.zeros((0, 2), np.float32)
    half = cv2.resize(area[: 2 * size[1], : 2 * size[0]], size, interpolation=cv2.INTER_AREA)
    scores = cv2.matchTemplate(cv2.GaussianBlur(half, (3, 3), ALIKE), small, cv2.TM_CCOEFF_NORMED)
    # px i of the half-size picture covers 2 i and 2 i + 1.
    return 2 * (_peaks(scores) + small.shape[0] // 2) + np.array([left + 0.5, top + 0.5], np.float32)


def _as_last_seen(look: Floats, turn: npt.NDArray[np.float64]) -> Picture:
    """The template turned and scaled as the mark was when it was last seen, at half size: the largest square that it fills."""
    half = int(np.clip(RADIUS * 0.85 * np.sqrt(abs(np.linalg.det(turn))), 5, RADIUS))
    side = 2 * (2 * half // 4) + 1
    middle = side - 0.5
    back = np.linalg.inv(turn)
    to_template = np.hstack([back, (RADIUS - back @ [middle, middle])[:, None]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    whole = cv2.warpAffine(
        np.clip(look, 0, 255).astype(np.uint8), to_template, (2 * side, 2 * side), flags=flags, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(cv2.resize(whole, (side, side), interpolation=cv2.INTER_AREA), np.uint8)


def _peaks(scores: npt.NDArray[np.float32]) -> Floats:
    """The places of the best scores, float32 [shape=(PEAKS at most, 2)] x, y; none under HINT."""
    found: list[tuple[int, int]] = []
    if float(scores.max()) < LIKELY:
        return np.zeros((0, 2), np.float32)
    rest = scores.copy()
    for _ in range(PEAKS):
        _, best, _, (x, y) = cv2.minMaxLoc(rest)
        if best < HINT:
            break
        found.append((x, y))
        rest[max(0, y - 2) : y + 3, max(0, x - 2) : x + 3] = -1
    return np.array(found, np.float32).reshape(-1, 2)


def same_shape(found: Floats, last: Floats) -> Bools:
    """Whether patches kept their shape since they were last seen: turned, grown a little, but not squeezed to fit."""
    change = np.linalg.svd(found[:, :, :2] @ np.linalg.inv(last[:, :, :2]), compute_uv=False)
    apart = np.linalg.norm(found[:, :, 2] - last[:, :, 2], axis=1)
    return np.asarray((change[:, 0] < SQUEEZE * change[:, 1]) & (change[:, 0] < GROWTH) & (change[:, 1] > 1 / GROWTH) & (apart < LOOSE))


def alone(fit: Fit, good: Bools, own: Bools) -> Fit | None:
    """The one row of `fit`, of those in `own`, that is surely the mark: far better than any at another place."""
    fit, good = Fit(*(getattr(fit, name)[own] for name in Fit.__dataclass_fields__)), good[own]
    best = int(np.argmax(np.where(good, fit.whole, -1)))
    elsewhere = np.linalg.norm(fit.warps[:, :, 2] - fit.warps[best, :, 2], axis=1) > 2
    rival = float(np.max(fit.whole[elsewhere], initial=-1))
    if not good[best] or fit.whole[best] < FOUND or fit.whole[best] - rival < ALONE:
        return None
    return Fit(*(getattr(fit, name)[best : best + 1] for name in Fit.__dataclass_fields__))
