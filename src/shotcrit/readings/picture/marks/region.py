"""A mark on plain cloth has no texture of its own: it goes where the texture around it goes."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.marks.error import turned_away
from shotcrit.readings.picture.marks.tiles import smoothed

Floats = npt.NDArray[np.float32]

BLAND = 0.06
"""px for one grey level of noise; a mark whose place is less sure than this asks its surroundings (guess)."""
REACH = 48
"""px at working size; how far around the mark its companions may lie (guess: a hand's width on a medium shot)."""
BESIDE = 8
"""px around that, so that an edge of the area is no corner."""
MOST = 12
"""Companions a mark; more cost time and lie further away."""
FEWEST = 3
"""A movement with turn and scale needs two points, and one to check them."""
APART = 1.5
"""px; a companion further than this from where the others say is not of the same part (guess)."""


@dataclass
class Region:
    """The companions of a mark from one anchor in one direction.

    spots : float32 [shape=(k, 2)] where they were on the anchor's frame; xy, error : [shape=(k, n_frames, 2)], [shape=(k, n_frames)]
    """

    anchor: int
    step: int
    spot: tuple[float, float]
    spots: Floats
    frames: int
    xy: Floats = field(init=False)
    error: Floats = field(init=False)

    def __post_init__(self) -> None:
        self.xy = np.full((len(self.spots), self.frames, 2), np.nan, np.float32)
        self.error = np.full((len(self.spots), self.frames), np.nan, np.float32)

    def note(self, companion: int, index: int, xy: Floats, error: float) -> None:
        self.xy[companion, index], self.error[companion, index] = xy, error


def companions(picture: npt.NDArray[np.uint8], spot: tuple[float, float]) -> Floats:
    """float32 [shape=(k, 2)] px: well textured points around `spot`, none where there are not FEWEST of them."""
    x, y = round(spot[0]), round(spot[1])
    left, top = max(0, x - REACH - BESIDE), max(0, y - REACH - BESIDE)
    cut_out = picture[top : max(top + 1, y + REACH + BESIDE + 1), left : max(left + 1, x + REACH + BESIDE + 1)]
    if not cut_out.size:  # the spot lies far outside of the picture, as the marks of a rig may
        return np.zeros((0, 2), np.float32)
    area = smoothed(cut_out)
    mask = np.zeros(area.shape, np.uint8)
    cv2.circle(mask, (x - left, y - top), REACH, 255, -1)
    found = cv2.goodFeaturesToTrack(area, MOST, 0.05, 6, mask=mask, blockSize=7)
    if found is None or len(found) < FEWEST:
        return np.zeros((0, 2), np.float32)
    return np.asarray(found.reshape(-1, 2) + np.array([left, top]), dtype=np.float32)


def settle(region: Region, xy: Floats, error: Floats, noise: Floats) -> None:
    """Where the companions agree on a better place than the mark's own following, write it into `xy`, `error` and `noise` in place.

    The move is a similarity fitted to the companions with the far ones discounted; its noise is their disagreement, its error also how they were squeezed.
    """
    for index in range(region.frames):
        if index == region.anchor:
            continue
        there = np.flatnonzero(np.isfinite(region.error[:, index]))
        found = _vote(region, there, index) if len(there) >= FEWEST else None
        if found is not None and not noise[index] < found[1]:
            xy[index], noise[index] = found[:2]
            error[index] = np.hypot(*found[1:])


def _vote(region: Region, there: npt.NDArray[np.intp], index: int) -> tuple[Floats, float, float] | None:
    """(place, noise, what turning away may add) of the mark, px; None where too few companions agree."""
    old, new = region.spots[there].astype(np.float64), region.xy[there, index].astype(np.float64)
    spot = np.array(region.spot)
    near = 1 / (1 + (np.linalg.norm(old - spot, axis=1) / (REACH / 2)) ** 2)
    own = near / region.error[there, index] ** 2
    trust = own.copy()
    trust *= np.linalg.norm((new - old) - np.median(new - old, axis=0), axis=1) < 8 * APART
    if (trust > 0).sum() < FEWEST:
        return None
    for _ in range(5):
        turn, shift = similarity(old - spot, new - spot, trust)
        miss = np.linalg.norm((old - spot) @ turn.T + shift - (new - spot), axis=1)
        trust = own / (1 + (miss / (APART / 2)) ** 2)
    keep = miss < APART
    if keep.sum() < FEWEST:
        return None
    noise = _error(old - spot, miss, trust, int(keep.sum()), region.error[there, index])
    return (
        np.asarray(shift + spot, np.float32),
        noise,
        turned_away(_linear(old[keep], new[keep], trust[keep])) if keep.sum() > FEWEST else 0.0,
    )


def _linear(old: npt.NDArray[np.float64], new: npt.NDArray[np.float64], trust: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Linear map [shape=(2, 2)] from old to new about their middles, weighted least squares."""
    share = (trust / trust.sum())[:, None]
    p, q = old - (share * old).sum(0), new - (share * new).sum(0)
    return np.asarray(np.linalg.lstsq(np.sqrt(share) * p, np.sqrt(share) * q, rcond=None)[0].T)


def _error(at: npt.NDArray[np.float64], miss: npt.NDArray[np.float64], trust: npt.NDArray[np.float64], votes: int, own: Floats) -> float:
    """Standard error, px, of the fitted movement at the mark: a fit through points on one side reaches less surely to the other.

    s^2 (1/n + |c|^2 / sum |p - c|^2), the variance of a straight-line prediction at distance c from the points' middle (Draper & Smith 1998).
    """
    share = trust / trust.sum()
    residual = np.sqrt((share * miss**2).sum() * votes / max(votes - 2, 1) + (share * own**2).sum())
    middle = share @ at
    around = (share * ((at - middle) ** 2).sum(1)).sum()
    leverage = (1 + (middle @ middle) / max(around, 1.0)) / votes
    return float(residual * np.sqrt(leverage) + 0.2 * residual)


def similarity(
    old: npt.NDArray[np.float64], new: npt.NDArray[np.float64], trust: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Turn with scale [shape=(2, 2)] and shift [shape=(2,)] with new = turn @ old + shift, weighted least squares (Umeyama 1991, without reflection)."""
    share = trust / trust.sum()
    a, b = share @ old, share @ new
    p, q = old - a, new - b
    size = max(float((share * (p**2).sum(1)).sum()), 1e-9)
    cos = float((share * (p * q).sum(1)).sum()) / size
    sin = float((share * (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])).sum()) / size
    turn = np.array([[cos, -sin], [sin, cos]])
    return turn, b - turn @ a
