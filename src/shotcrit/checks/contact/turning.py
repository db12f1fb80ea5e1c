"""How far a gap between two marks of the picture lies from where it is held, though hand and prop turn together.

A held gap that turns is carried round slowly; a slide is quicker. A gap that stands still is held against its median; one that turns against
polynomials through its neighbours, and what two degrees of polynomial disagree by is doubt: where the turn is fast, no slide can be told from it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

REACH = 7
"""Frames each way through which the polynomial goes (guess: 0.3 s at 24)."""
BEFORE = 12
"""Frames before a cut's tail that it is held against."""
TURNING_TAIL = 2
"""Frames before a cut that a turning gap is carried on over; further on a polynomial says nothing (guess)."""
TWICE = 2.0
"""Standard errors that a prediction is allowed."""
LATELY = 3
"""Frames before a cut's tail whose slow errors the tail's are held against (guess)."""
SPARE = 1
"""Frames next to the one that is judged which are left out."""


def away_from_hold(gap: Array, error: Array, slow: Array, tail: int, still_px: float) -> tuple[Array, Array, Array]:
    """(distance of each frame's gap from where it is held, doubt about where that is, standard error that slow errors leave); each [shape=(n,)], px.

    gap : [shape=(n, 2)], nan where unknown; error : [shape=(n,)] of each frame by itself; slow : [shape=(n, k)] errors that go as the things turn
    tail : last frames judged against those before; still_px : spread of a still gap

    Between neighbours a slow error moves a gap by what it changed, reckoned as the gap itself is; far apart in time, each frame has its own.
    """
    known = np.asarray(np.isfinite(gap).all(axis=1), bool)
    error_px = float(np.nanmedian(error))
    both = np.hstack([gap, slow])
    before = gap[: len(gap) - tail][known[: len(gap) - tail]][-BEFORE:]
    if tail > TURNING_TAIL and len(before) and not _is_still(before, error_px, still_px):
        tail = TURNING_TAIL
    body = known.copy()
    body[len(gap) - tail :] = False
    rest, doubt = np.full_like(both, np.nan), np.zeros(len(gap))
    still = bool(body.any()) and _is_still(gap[body], error_px, still_px)
    if still:
        rest[:] = np.median(both[body], axis=0)
    else:
        for i in range(len(gap) - tail):
            rest[i], doubt[i] = _through_neighbours(both, body, i)
    moved = np.hypot(slow, rest[:, 2:]) if still else np.abs(slow - rest[:, 2:])
    if tail and body.any():
        rest[-tail:, :2], doubt[-tail:] = _onwards(gap, body, tail, error_px, still_px)
        moved[-tail:] = np.abs(slow[-tail:] - np.median(slow[np.flatnonzero(body)[-LATELY:]], axis=0))
    return np.linalg.norm(gap - rest[:, :2], axis=1), doubt, np.linalg.norm(moved, axis=1)


def _is_still(gap: Array, error: float, still_px: float) -> bool:
    """Whether the gap keeps its place, a few frames apart."""
    spread = np.percentile(np.linalg.norm(gap - np.median(gap, axis=0), axis=1), 75)
    return bool(spread < still_px + 2 * error)


def _through_neighbours(gap: Array, body: npt.NDArray[np.bool_], i: int) -> tuple[Array, float]:
    """Columns 0 and 1 are the gap, the others go with it; the doubt is of the gap."""
    index = np.arange(max(0, i - REACH), min(len(gap), i + REACH + 1))
    index = index[body[index] & (np.abs(index - i) > SPARE)]
    # At the ends the polynomial would reach out of its data; there the gap is not judged.
    if len(index) < REACH or index[0] > i or index[-1] < i:
        return np.full(gap.shape[1], np.nan), 0.0
    fine, coarse = (_at(index - i, gap[index], degree, np.zeros(1))[0] for degree in (3, 2))
    return fine, float(np.linalg.norm((fine - coarse)[:2]))


def _onwards(gap: Array, body: npt.NDArray[np.bool_], tail: int, error: float, still_px: float) -> tuple[Array, Array]:
    """Where the gap would be over the tail, had it gone on as before."""
    stop = len(gap) - tail
    index = np.arange(max(0, stop - BEFORE), stop)
    index = index[body[index]]
    if not len(index):
        return np.full((tail, 2), np.nan), np.zeros(tail)
    ahead, held = np.arange(tail, dtype=np.float64), np.repeat(np.median(gap[index], axis=0)[None], tail, axis=0)
    if len(index) < REACH:
        return held, np.zeros(tail)
    if _is_still(gap[index], error, still_px):
        # A gap that turns back stands still for a moment too: what it would go on to do is doubt.
        return held, np.linalg.norm(_at(index - stop, gap[index], 2, ahead) - held, axis=1)
    fine, coarse = (_at(index - stop, gap[index], degree, ahead) for degree in (3, 2))
    # The marks' own errors, carried on: each row says how much every frame before weighs in the one ahead.
    weight = np.vander(ahead, 4) @ np.linalg.pinv(np.vander((index - stop).astype(np.float64), 4))
    return fine, np.linalg.norm(fine - coarse, axis=1) + TWICE * error * np.linalg.norm(weight, axis=1)


def _at(index: npt.NDArray[np.int64], values: Array, degree: int, where: Array) -> Array:
    return np.stack([np.polyval(np.polyfit(index, column, degree), where) for column in values.T], axis=1)
