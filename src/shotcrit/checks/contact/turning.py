"""How far a gap between two marks of the picture lies from where it is held, though hand and prop turn together.

A held gap that turns goes round: its length and its angle change slowly, however far it swings, so it is followed in these two. A gap that stands still is
held against its median; one that turns against polynomials through its neighbours, and what two degrees of polynomial disagree by is doubt: where the turn is
fast, no slide can be told from it. Just before a cut a slide begins with a kink, a turn does not; and frames that may slide already belong to no fit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

REACH = 7
"""Frames each way through which the polynomial goes (guess: 0.3 s at 24)."""
BEFORE = 12
"""Frames before a cut's tail that it is held against."""
TWICE = 2.0
"""Standard errors that a prediction is allowed."""
SURE = 3.0
"""Standard errors from which on a frame is off the way that it went."""
LATELY = 3
"""Frames before a cut's tail whose slow errors the tail's are held against (guess)."""
LONGER = 2
"""Times the tail in which a slide may begin where the gap turns (guess): frames that slide must not lie among those that lead on."""
SPARE = 1
"""Frames next to the one that is judged which are left out."""
SHORT_PX = 12.0
"""A gap shorter than this has no angle to speak of (guess); it is followed as it lies."""
KINK = 0.6
"""Of the first frame's change of speed: what comes after it changes speed by no more when it slides, and by more when it turns (guess)."""
CHANGES = float(np.sqrt(6.0))
"""Standard errors of a change of speed, three frames' 1, -2, 1."""


class Way:
    """A gap as its length and its angle, both in px [shape=(n, 2)]: what goes round goes straight there. A short gap stays as it lies.

    flat : px along the gap and across it; of a short gap as it lies
    """

    def __init__(self, gap: Array) -> None:
        length = np.hypot(gap[:, 0], gap[:, 1])
        self.gap, self.usual = gap, float(np.nanmedian(length))
        self.round = bool(np.nanmin(length) > SHORT_PX)
        angle = np.arctan2(gap[:, 1], gap[:, 0])
        seen = np.isfinite(angle)
        angle[seen] = np.unwrap(angle[seen])
        self.flat = np.column_stack([length, angle * self.usual]) if self.round else gap

    def back(self, flat: Array) -> Array:
        """Px of the picture again."""
        if not self.round:
            return flat
        angle = flat[:, 1] / self.usual
        return flat[:, :1] * np.column_stack([np.cos(angle), np.sin(angle)])


@dataclass(frozen=True)
class Away:
    """How far each frame's gap lies from where it is held, px, [shape=(n,)] each.

    doubt : about where that is; slow : standard error that slow errors leave
    still : whether the gap keeps its place but for what slides; tail : last frames, judged against those before
    unclear : whether the last frames before a cut leave their way as a turn does too
    """

    px: Array
    doubt: Array
    slow: Array
    way: Way
    still: bool
    tail: int
    unclear: bool = False


def away_from_hold(gap: Array, error: Array, slow: Array, tail: int, still_px: float) -> Away:
    """gap : [shape=(n, 2)], nan where unknown; error : [shape=(n,)] of each frame by itself; slow : [shape=(n, k)] errors that go as the things turn

    tail : last frames judged against those before; still_px : spread of a still gap, half of what is allowed

    Between neighbours a slow error moves a gap by what it changed, reckoned as the gap itself is; far apart in time, each frame has its own.
    """
    known = np.asarray(np.isfinite(gap).all(axis=1), bool)
    error_px = float(np.nanmedian(error))
    way = Way(gap)
    if tail and not _is_still_before(gap, known, tail, error_px, still_px):
        tail = min(LONGER * tail, len(gap) - 2)
    both = np.hstack([way.flat, slow])
    body = known.copy()
    body[len(gap) - tail :] = False
    rest, doubt = np.full_like(both, np.nan), np.zeros(len(gap))
    still = bool(body.any()) and _is_still(gap[body], error_px, still_px) and not _drifts(gap, body, error_px, still_px)
    if still:
        rest[:] = np.median(both[body], axis=0)
    else:
        for i in range(len(gap) - tail):
            rest[i], doubt[i] = _through_neighbours(both, body, i)
    moved = np.hypot(slow, rest[:, 2:]) if still else np.abs(slow - rest[:, 2:])
    unclear = False
    if tail and body.any():
        held, doubt[-tail:], unclear = _tail(way, known, tail, error_px, still_px)
        rest[-tail:, :2] = held
        moved[-tail:] = np.abs(slow[-tail:] - np.median(slow[np.flatnonzero(body)[-LATELY:]], axis=0))
    px = np.linalg.norm(gap - way.back(rest[:, :2]), axis=1)
    return Away(px, doubt, np.linalg.norm(moved, axis=1), way, still, tail, unclear)


def _is_still_before(gap: Array, known: Bools, tail: int, error: float, still_px: float) -> bool:
    """Whether the gap keeps its place over the frames that its last ones are held against, or did so all along and slipped for a while."""
    body = np.flatnonzero(known[: len(gap) - tail])
    before = body[-BEFORE:]
    return len(before) < REACH or _is_still(gap[before], error, still_px) or _is_still(gap[body], error, still_px)


def _is_still(gap: Array, error: float, still_px: float) -> bool:
    """Whether the gap keeps its place, a few frames apart."""
    spread = np.percentile(np.linalg.norm(gap - np.median(gap, axis=0), axis=1), 75)
    return bool(spread < still_px + 2 * error)


def _drifts(gap: Array, body: Bools, error: float, still_px: float) -> bool:
    """Whether a gap that hardly moves goes all the way along one smooth curve: what turns slowly does, what slips does not."""
    index = np.flatnonzero(body)
    if len(index) < REACH:
        return False
    curve = _at(index - index[0], gap[index], 3, (index - index[0]).astype(np.float64))
    left, moved = (np.percentile(np.linalg.norm(gap[index] - rest, axis=1), 95) for rest in (curve, np.median(gap[index], axis=0)))
    return bool(moved > 2 * still_px and left < SURE * error)


def _through_neighbours(way: Array, body: Bools, i: int) -> tuple[Array, float]:
    """Columns 0 and 1 are the gap, the others go with it; the doubt is of the gap."""
    index = np.arange(max(0, i - REACH), min(len(way), i + REACH + 1))
    index = index[body[index] & (np.abs(index - i) > SPARE)]
    # At the ends the polynomial would reach out of its data; there the gap is not judged.
    if len(index) < REACH or index[0] > i or index[-1] < i:
        return np.full(way.shape[1], np.nan), 0.0
    fine, coarse = (_at(index - i, way[index], degree, np.zeros(1))[0] for degree in (3, 2))
    return fine, float(np.linalg.norm((fine - coarse)[:2]))


def _tail(way: Way, known: Bools, tail: int, error: float, still_px: float) -> tuple[Array, Array, bool]:
    """(where the gap would be over the last `tail` frames had it gone on as before, doubt about it, whether it may slide or turn).

    Of a gap that turns each frame is held against all before it, until one leaves their way for good: from there on against those alone.
    """
    stop = len(known) - tail
    before = np.flatnonzero(known[:stop])[-BEFORE:]
    if _is_still_before(way.gap, known, tail, error, still_px):
        return (*_held(way, before, stop, tail, error, still_px), False)
    rest, doubt = np.full((tail, 2), np.nan), np.zeros(tail)
    for first in range(stop, len(known)):
        before = np.flatnonzero(known[:first])[-BEFORE:]
        ahead, unsure = _onwards(way.flat, before, first, len(known) - first, error)
        rest[first - stop], doubt[first - stop] = ahead[0], unsure[0]
        off = np.linalg.norm(way.gap[first:] - way.back(ahead), axis=1)
        if not np.isfinite(off).all() or not ((off > unsure + SURE * error).all() and off[-1] > 2 * still_px + unsure[-1] + error):
            continue
        if not _has_kink(way.flat, ahead, first, error):
            return rest, doubt, True
        rest[first - stop :], doubt[first - stop :] = ahead, unsure
        break
    return rest, doubt, False


def _has_kink(flat: Array, ahead: Array, first: int, error: float) -> bool:
    """Whether the speed at which a gap leaves its way changes at once, and then stays: what slides does, what starts to turn does not."""
    off = np.vstack([np.zeros((2, 2)), flat[first:] - ahead])
    changes = np.linalg.norm(off[2:] - 2 * off[1:-1] + off[:-2], axis=1)
    return bool(changes[1:].max(initial=0.0) <= KINK * changes[0] + TWICE * CHANGES * error)


def _held(way: Way, before: npt.NDArray[np.intp], stop: int, tail: int, error: float, still_px: float) -> tuple[Array, Array]:
    """Of a gap that stands still before the tail, or is known too briefly to say more."""
    held = np.repeat(np.median(way.flat[before], axis=0)[None], tail, axis=0) if len(before) else np.full((tail, 2), np.nan)
    if len(before) < REACH:
        return held, np.zeros(tail)
    # A gap that turns back stands still for a moment too: what it would go on to do is doubt.
    goes_on = _at(before - stop, way.flat[before], 2, np.arange(tail, dtype=np.float64))
    return held, np.linalg.norm(goes_on - held, axis=1)


def _onwards(flat: Array, before: npt.NDArray[np.intp], first: int, count: int, error: float) -> tuple[Array, Array]:
    """Where the frames `before` lead, over `count` frames from `first` on, and how sure that is."""
    ahead = np.arange(count, dtype=np.float64)
    fine, coarse = (_at(before - first, flat[before], degree, ahead) for degree in (3, 2))
    # The marks' own errors, carried on: each row says how much every frame before weighs in the one ahead.
    weight = np.vander(ahead, 4) @ np.linalg.pinv(np.vander((before - first).astype(np.float64), 4))
    return fine, np.linalg.norm(fine - coarse, axis=1) + TWICE * error * np.linalg.norm(weight, axis=1)


def _at(index: npt.NDArray[np.intp], values: Array, degree: int, where: Array) -> Array:
    return np.stack([np.polyval(np.polyfit(index, column, degree), where) for column in values.T], axis=1)
