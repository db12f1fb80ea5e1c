"""One character's lids as a check of them wants to see them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Blink
from shotcrit.readings.looks.rests import LIDS_OPEN

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

HIDES = 2
"""Frames on which nothing is known of lids and in which no blink can hide (guess: the quickest take three)."""
CLOSED_S = 0.5
"""s; what is shut for longer is closed eyes and no blink (Stern et al. 1984, Psychophysiology 21:22-33)."""
FACING = -0.2
"""Least part of a look that goes away from the lens and may still show the eye: a full profile and a little more (guess)."""


@dataclass(frozen=True)
class Lids:
    """open : float64 [shape=(n_frames,)] of the eye that is open further, its usual opening 1, nan where unknown
    each : the same by side; blinks : in order; visible : bool [shape=(n_frames,)] frames on which the audience can see the eyes
    """

    actor: Acting
    open: Array
    each: dict[str, Array]
    blinks: tuple[Blink, ...]
    visible: Bools
    rate: float

    @property
    def who(self) -> str:
        return self.actor.who

    def stretches(self) -> Iterator[Span]:
        """Where no blink can have been missed: known but for HIDES frames in a row, and not shut for long."""
        known = np.isfinite(self.open)
        for gap in runs((~known).tolist()):
            known[gap.start : gap.stop] |= len(gap) <= HIDES and gap.start > 0 and gap.stop < len(known)
        for shut in runs((np.nan_to_num(self.open, nan=1.0) < LIDS_OPEN).tolist()):
            known[shut.start : shut.stop] &= len(shut) <= CLOSED_S * self.rate + 1
        yield from runs(known.tolist())

    def blinks_in(self, span: Span) -> list[Blink]:
        return [blink for blink in self.blinks if blink.first >= span.start and blink.last < span.stop]


def lids_of(readings: Readings, actor: Acting) -> Lids | None:
    """None where nothing is known of them."""
    each = {str(side): np.asarray(series, np.float64) for side, series in actor.lids.items() if np.isfinite(series).any()}
    if not each:
        return None
    rows = np.stack(list(each.values()))
    some = np.isfinite(rows).any(axis=0)
    wide = np.where(some, np.nanmax(np.where(np.isfinite(rows), rows, -np.inf), axis=0), np.nan)
    blinks = tuple(blink for blink in readings.blinks if blink.who == actor.who)
    acted = readings.picture.acted if readings.picture is not None else np.ones(len(wide), np.bool_)
    return Lids(actor, np.where(acted, wide, np.nan), each, blinks, _visible(actor, len(wide)) & acted, float(readings.clock.rate))


def _visible(actor: Acting, frames: int) -> Bools:
    """Frames on which an eye lies in the picture and is not turned away; all of them where nothing tells it."""
    if not actor.gaze:
        return np.ones(frames, np.bool_)
    seen = np.zeros(frames, np.bool_)
    for gaze in actor.gaze.values():
        inside = ((gaze.origin >= 0) & (gaze.origin <= 1)).all(axis=1)
        away = np.nan_to_num(np.asarray(gaze.direction, np.float64)[:, 2], nan=-1.0)
        seen |= inside & (-away > FACING)
    return seen
