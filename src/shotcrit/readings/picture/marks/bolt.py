"""Marks that bolt: what covers a mark sometimes takes it along for a few frames before the template says that it is lost. Those frames are taken back."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]

BOLT = 2.5
"""px at working size; a mark whose speed changes by more than this at once, shortly before it is lost, went off with what covered it (guess)."""
RATIO = 4.0
"""The same over how much its speed usually changes: a mark that shakes all along may (guess)."""
LAST = 8
"""Frames before a loss that are doubted: an occluder that takes a mark along loses it within a few (guess)."""


def forget_bolts(xy: Floats, error: Floats, anchor: int, step: int) -> None:
    """Take back, in place, the last frames before each loss on which a mark bolted.

    xy : float32 [shape=(n_frames, 2)] px, error : float32 [shape=(n_frames,)], followed from frame `anchor` in direction `step` (1 or -1); nan where lost
    """
    order = np.arange(anchor, len(xy) if step > 0 else -1, step)
    known = np.isfinite(error[order])
    for lost in np.flatnonzero(known[:-1] & ~known[1:]) + 1:
        before = np.flatnonzero(~known[:lost])
        run = order[before[-1] + 1 if len(before) else 0 : lost]
        kept = _until_the_bolt(xy[run].astype(np.float64))
        xy[run[kept:]], error[run[kept:]] = np.nan, np.nan


def _until_the_bolt(path: npt.NDArray[np.float64]) -> int:
    """How many frames of `path` [shape=(n, 2)], which ends in a loss, are to be believed."""
    change = np.linalg.norm(np.diff(path, n=2, axis=0), axis=1)
    if len(change) <= LAST:
        return len(path)
    late, early = change[-LAST:], change[:-LAST]
    wild = np.flatnonzero((late > BOLT) & (late > RATIO * float(np.quantile(early, 0.9))))
    # change[k] is what frame k + 2 did.
    return len(path) - LAST + int(wild[0]) if len(wild) else len(path)
