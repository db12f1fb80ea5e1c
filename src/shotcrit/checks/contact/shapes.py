"""What a gap between two marks of the picture did in mid-shot where it left its way: one slide, or something that a turn does too.

Around frames that lie off the way that their neighbours lead, the way is fitted anew: smooth, with one thing more that happens on it. What slides sets off
and stops at once, and stays or comes back; what turns eases in or out, and keeps the gap's length. However many frames lie off, it is one thing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

REACH = 7
"""Frames each way over which a slide throws its neighbours off, and through which the way is fitted anew (guess: 0.3 s at 24)."""
DEGREE = 4
"""Of the smooth way over some twenty frames; by reckoning, a swing of 90 degrees in 2.5 s leaves 0.1 px of it."""
SLIDES = (1, 2, 3, 4, 5, 6, 8)
"""Frames that a slide may take from where it sets off to where it stops (guess: longer ones are no step but a way of their own)."""
TURNS = (3, 4, 5, 6, 8, 10, 12)
"""Frames that a turn may take (guess: with fewer than two frames on the way nobody turns)."""
EASES: tuple[Callable[[Array], Array], ...] = (
    lambda share: share**2 * (3 - 2 * share),
    lambda share: share**2,
    lambda share: share * (2 - share),
)
"""How a turn goes from 0 to 1: easing in and out, in only, out only."""
LEAST_WEIGHT = 0.3
"""Of a shape beside a smooth way: what weighs less is as good as part of it (guess)."""
SHARP = 9.0
"""By how many squared standard errors a slide must explain the way better than any turn does: three standard errors."""
NOISE = 3.0
"""Standard errors by which what a slide leaves unexplained may lie over what noise leaves on average."""


@dataclass(frozen=True)
class Happened:
    """span : frames from where it sets off until it has stopped; off : by how much the gap lies off, along it and across it, px [shape=(n, 2)]

    along : px of it along the gap, which no turn across the picture changes; error : standard error of each px
    sharp : whether it sets off and stops as no turn does; explained : whether what is left is noise
    """

    span: Span
    off: Array
    along: float
    error: float
    sharp: bool
    explained: bool


class _Shapes(NamedTuple):
    """Parts of its way that something may have gone [shape=(m, n)], from 0 to 1 and perhaps back, over frames `first` .. `stop` - 1 [shape=(m,)].

    last : frame up to which something may set off
    """

    share: Array
    first: Ints
    stop: Ints
    last: int


def grouped(off: Iterable[Span]) -> list[Span]:
    """Stretches off the way, those near enough to come of one thing made one."""
    groups: list[Span] = []
    for span in off:
        if groups and span.start - groups[-1].stop <= REACH:
            groups[-1] = Span(groups[-1].start, span.stop)
        else:
            groups.append(span)
    return groups


def happened(flat: Array, known: Bools, group: Span, error: float, *, still: bool) -> Happened | None:
    """The one thing that explains best what a gap does around `group`; None where too little of its way is known before or after to say.

    flat : [shape=(n, 2)] px along the gap and across it; error : px, of one frame; still : whether the gap stands still but for that
    """
    index = np.arange(max(0, group.start - REACH), min(len(flat), group.stop + REACH))
    index = index[known[index]]
    if (index < group.start).sum() < REACH - 1 or (index >= (group.start if still else group.stop)).sum() < REACH - 1:
        return None
    smooth = np.linalg.qr(np.vander((index - index.mean()) / len(index), 1 if still else DEGREE + 1))[0]
    left = flat[index] - smooth @ (smooth.T @ flat[index])
    variance = max(error, 1e-3) ** 2
    # What comes back fits more easily than what stays, so more is asked of it.
    best = _best(_or_back(_steps(index, group, SLIDES, (_even,))), smooth, left, more_px2=SHARP * variance)
    turned = _best(_or_back(_steps(index, group, TURNS, EASES)), smooth, left).left
    size = float(np.hypot(*best.size))
    off = np.zeros_like(flat)
    off[index] = best.share[:, None] * best.size
    # A straight slide bends where a gap is told by length and angle: by its sagitta, on the frames on which it is under way.
    bend = (size**2 / (8 * float(np.median(np.abs(flat[index, 0]))) + 1)) ** 2 * len(best.span)
    free = 2 * (len(index) - smooth.shape[1] - 1)
    return Happened(
        best.span, off, abs(float(best.size[0])), error / best.weight, sharp=turned - best.left > SHARP * variance,
        explained=best.left < variance * (free + NOISE * float(np.sqrt(2 * free))) + bend,
    )  # fmt: skip


class _Best(NamedTuple):
    """The shape that leaves least unexplained. left : px squared that it leaves; size : along and across the gap; weight : its own in the fit"""

    share: Array
    span: Span
    left: float
    size: Array
    weight: float


def _best(shapes: _Shapes, smooth: Array, left: Array, *, more_px2: float = 0.0) -> _Best:
    """more_px2 : by how much more what comes back must explain"""
    apart = shapes.share - (shapes.share @ smooth) @ smooth.T
    weights = np.linalg.norm(apart, axis=1)
    taken = np.where(weights > LEAST_WEIGHT, (((apart @ left) / np.maximum(weights, LEAST_WEIGHT)[:, None]) ** 2).sum(axis=1), 0.0)
    best = int(np.argmax(taken - more_px2 * (np.abs(shapes.share[:, -1]) < 0.5)))
    span = Span(int(shapes.first[best]), int(shapes.stop[best]))
    weight = max(float(weights[best]), LEAST_WEIGHT)
    return _Best(shapes.share[best], span, float((left**2).sum() - taken[best]), apart[best] @ left / weight**2, weight)


def _even(share: Array) -> Array:
    return share


def _steps(index: Ints, group: Span, overs: tuple[int, ...], eases: tuple[Callable[[Array], Array], ...]) -> _Shapes:
    """From one place to another and staying there; what eases may set off between two frames."""
    shares, firsts, stops = [], [], []
    for over in overs:
        spare = over / 2 if _even not in eases else 1.0
        begin = np.arange(group.start - spare, group.stop + spare, 0.5 if _even not in eases else 1.0)
        # What is at one speed has gone its first part on its first frame already.
        lead = 1.0 if _even in eases else 0.0
        share = np.clip((index - begin[:, None] + lead) / over, 0, 1)
        shares += [ease(share) for ease in eases]
        firsts += [np.ceil(begin).astype(np.intp)] * len(eases)
        stops += [np.ceil(begin + over).astype(np.intp)] * len(eases)
    return _Shapes(np.concatenate(shares), np.concatenate(firsts), np.concatenate(stops), group.stop)


def _or_back(there: _Shapes) -> _Shapes:
    """The same, and each of them with the way back as it came, after a frame's rest or a longer one."""
    shares, firsts, stops = [there.share], [there.first], [there.stop]
    for later in range(2, there.share.shape[1] - 1):
        came = np.hstack([np.zeros((len(there.share), later)), there.share[:, :-later]])
        rows = (there.stop - there.first < later) & (there.first + later <= there.last)
        shares.append((there.share - came)[rows])
        firsts.append(there.first[rows])
        stops.append((there.stop + later - 1)[rows])
    return _Shapes(np.concatenate(shares), np.concatenate(firsts), np.concatenate(stops), there.last)
