"""Where the picture changed from take to take, and where it did not: what only grain, grade, framing or compression changed is left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.readings.picture.glance import HIGH, WIDE
from shotcrit.readings.seen import Box
from shotcrit.takes.frame_map import FrameMap
from shotcrit.takes.seen import Sight

Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]

NOISES = 4.0
"""Standard deviations of the noise beyond which a square changed."""
LEAST = 3.0
"""Luma steps a square must change by at the least (guess: compression of one picture in two ways moves a square by 2)."""
EDGE, EDGE_REFRAMED = 0.08, 1.0
"""Part of the steepest step beside a square that it may change by: its edges never lie to a hair where they lay, less so when framed anew (guesses)."""
TOGETHER = 2
"""Changed squares, itself among them, that must touch for one to count."""
ALWAYS = 0.9
"""Part of the frames on which a square changed from which it is said to be painted over (guess)."""
GAP = 4
"""Frames without a change inside one stretch of change (guess)."""
FEWEST = 3
"""Squares, over all of its frames, of a change that is told."""
PART = 64


@dataclass(frozen=True)
class Region:
    """A part of the picture that changed for a while. old, new : frames of both takes, where each has some; box : on the new picture

    part : 0..1, mean part of the whole picture that changed; by : luma steps, mean
    """

    old: Span | None
    new: Span
    box: Box
    part: float
    by: float


@dataclass(frozen=True)
class ChangeMap:
    """Frame by frame of the new take, square by square.

    by : float16 [shape=(n_new, HIGH, WIDE)] luma steps by which a square differs from its nearest of the old frame's neighbours; 0 where nothing is compared
    changed : bool [shape=(n_new, HIGH, WIDE)]; compared : bool [shape=(n_new,)] frames that have an old one
    painted : bool [shape=(HIGH, WIDE)] squares that something lies over throughout, such as a counter; they count nowhere
    usual : luma steps, the mean of `by` on a frame on which nothing changed
    """

    by: npt.NDArray[np.float16]
    changed: Bools
    compared: Bools
    painted: Bools
    usual: float
    regions: tuple[Region, ...] = ()

    @property
    def parts(self) -> Floats:
        """float32 [shape=(n_new,)]: part of the picture that changed; nan where nothing is compared. What the sheet draws."""
        parts = self.changed.mean(axis=(1, 2)).astype(np.float32)
        return np.where(self.compared, parts, np.float32(np.nan))

    def touched(self, new: Span, box: Box | None = None) -> bool:
        """Whether anything changed on these frames of the new take, in a part of its picture."""
        rows, columns = _squares(box)
        if int(self.changed[new.start : new.stop, rows, columns].sum()) >= FEWEST:
            return True
        inside = ~self.painted[rows, columns]
        if box is None or not inside.any():
            return False
        own = self.by[new.start : new.stop, rows, columns].astype(np.float32)[:, inside].mean(axis=1)
        return bool(np.sort(own)[-2:].mean() > max(WHOLE_BOX * self.usual, WHOLE_LEAST))


WHOLE_BOX, WHOLE_LEAST = 5.0, 1.5
"""Times the usual difference, and luma steps, from which a small part of the picture changed as a whole, though no square of it did by much (guess)."""


def change_map(old: Floats, new: Floats, lined_up: FrameMap) -> ChangeMap:
    """What changed between two takes' glances [shape=(n, HIGH, WIDE)]. Raises ValueError for a map made by sound alone."""
    if lined_up.sight is None:
        raise ValueError("takes that were lined up by sound alone have no pictures to compare")
    sight, way = lined_up.sight, lined_up.old_of
    by = np.zeros(new.shape, np.float16)
    over = np.zeros(new.shape, np.bool_)
    for part, frames, apart, allowed in _compared(sight, np.nan_to_num(old), np.nan_to_num(new), way):
        by[part][frames], over[part][frames] = apart, apart > allowed
    compared = way >= 0
    painted = over[compared].mean(axis=0) > ALWAYS if compared.any() else np.zeros(new.shape[1:], np.bool_)
    painted = painted if painted.mean() < 0.5 else np.zeros_like(painted)
    painted = np.asarray(cv2.dilate(painted.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0)
    changed = _lasting(over & ~painted)
    usual = float(np.median(by[compared][:, ~painted].astype(np.float32).mean(axis=1))) if compared.any() else 0.0
    return ChangeMap(by, changed, compared, painted, usual, tuple(_regions(changed, by, way)))


def _compared(sight: Sight, old: Floats, new: Floats, way: npt.NDArray[np.int64]) -> Iterator[tuple[slice, Bools, Floats, Floats]]:
    """Part after part: which of its frames are compared, by how much each square differs, and by how much it may."""
    share = EDGE_REFRAMED if sight.reframed else EDGE
    least = max(LEAST, NOISES * sight.noise)
    for first in range(0, len(new), PART):
        part = slice(first, min(first + PART, len(new)))
        known = way[part] >= 0
        if not known.any():
            continue
        at = way[part][known]
        low, high = max(0, int(at.min()) - 2), min(len(old), int(at.max()) + 3)
        seen, now = sight.of(old[low:high]), new[part][known]
        near = [seen[np.clip(at + step, low, high - 1) - low] for step in (-1, 0, 1)]
        near += [np.asarray((one + other) / 2, np.float32) for one, other in pairwise(near)]
        apart = np.abs(np.stack(near) - now).min(axis=0)
        retimed = _retimed(way)[part][known]
        if retimed.any():
            far = [seen[np.clip(at[retimed] + step, low, high - 1) - low] for step in (-2, 2)]
            apart[retimed] = np.minimum(apart[retimed], np.abs(np.stack(far) - now[retimed]).min(axis=0))
        apart[:, ~sight.shown] = 0
        steep = np.stack([cv2.dilate(one, _AROUND) - cv2.erode(one, _AROUND) for one in now])
        yield part, known, apart.astype(np.float32), (least + share * steep).astype(np.float32)


def _retimed(way: npt.NDArray[np.int64]) -> Bools:
    """Frames near which time does not run as it did: the nearest old picture may lie a frame farther off there."""
    odd = np.zeros(len(way), np.uint8)
    odd[1:] = np.diff(way) != 1
    return np.asarray(cv2.dilate(odd[None], np.ones((1, 7), np.uint8))[0] > 0)


_AROUND = np.ones((3, 3), np.uint8)


def _lasting(over: Bools) -> Bools:
    """Squares that do not stand alone, in the picture or in time."""
    touching = np.stack(
        [cv2.boxFilter(one.astype(np.uint8), cv2.CV_8U, (3, 3), normalize=False, borderType=cv2.BORDER_CONSTANT) for one in over]
    )
    kept = over & (touching >= TOGETHER)
    around = kept.copy()
    around[1:] |= kept[:-1]
    before, after = np.zeros_like(kept), np.zeros_like(kept)
    before[1:], after[:-1] = _grown(kept[:-1]), _grown(kept[1:])
    return np.asarray(kept & (before | after)) if len(over) > 1 else kept


def _grown(flags: Bools) -> Bools:
    return np.stack([cv2.dilate(one.astype(np.uint8), _AROUND) > 0 for one in flags])


def _regions(changed: Bools, by: npt.NDArray[np.float16], way: npt.NDArray[np.int64]) -> Iterator[Region]:
    """Stretches of change, and in each the parts of the picture that hang together."""
    per_frame = np.asarray(changed.reshape(len(changed), -1).any(axis=1))
    for stretch in _joined(runs(map(bool, per_frame))):
        here = changed[stretch.start : stretch.stop]
        count, labels = cv2.connectedComponents(_grown(np.asarray(here.any(axis=0))[None])[0].astype(np.uint8))
        for label in range(1, count):
            own = here & (labels == label)
            frames = np.flatnonzero(own.any(axis=(1, 2)))
            if own.sum() >= FEWEST:
                new = Span(stretch.start + int(frames[0]), stretch.start + int(frames[-1]) + 1)
                inside = own[frames[0] : frames[-1] + 1]
                steps = by[new.start : new.stop][inside].astype(np.float32)
                yield Region(_old(way, new), new, _box(inside.any(axis=0)), round(float(inside.mean()), 4), round(float(steps.mean()), 1))


def _joined(stretches: list[Span]) -> list[Span]:
    found: list[Span] = []
    for one in stretches:
        if found and one.start - found[-1].stop <= GAP:
            found[-1] = Span(found[-1].start, one.stop)
        else:
            found.append(one)
    return found


def _old(way: npt.NDArray[np.int64], new: Span) -> Span | None:
    known = way[new.start : new.stop]
    known = known[known >= 0]
    return Span(int(known.min()), int(known.max()) + 1) if len(known) else None


def _box(flags: Bools) -> Box:
    y, x = np.flatnonzero(flags.any(axis=1)), np.flatnonzero(flags.any(axis=0))
    return Box(float(x[0] / WIDE), float(y[0] / HIGH), float((x[-1] + 1) / WIDE), float((y[-1] + 1) / HIGH))


def _squares(box: Box | None) -> tuple[slice, slice]:
    """Rows and columns of the squares that a box touches."""
    if box is None:
        return slice(None), slice(None)
    top, left = int(np.clip(box.top * HIGH, 0, HIGH - 1)), int(np.clip(box.left * WIDE, 0, WIDE - 1))
    return slice(top, max(top + 1, int(np.ceil(min(box.bottom, 1) * HIGH)))), slice(
        left, max(left + 1, int(np.ceil(min(box.right, 1) * WIDE)))
    )
