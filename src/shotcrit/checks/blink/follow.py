"""Lids that stay where they are while the eyes go up and down."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.blink.seen import Bools, Lids
from shotcrit.checks.finding import Finding, Limit
from shotcrit.checks.sure import BAR
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.rests import resting
from shotcrit.readings.looks.space import eyes_of
from shotcrit.readings.shots import shots_of

FOLLOW = Limit(
    "follow", 0.1, "of the open eye", "from memory: the upper lid goes nearly as far as the eye does (Becker & Fuchs 1988, J. Neurophysiol. 60:1227-1252); "
    "guess: a fifth of that is seen",
    "How much lids move at least while the eyes go up and down by UP_DOWN degrees.",
)  # fmt: skip
UP_DOWN = 20.0
"""Degrees up and down, against the head, from which on lids are judged (guess)."""
FEWEST = 24
"""Frames on which eyes rest (guess: a second)."""
NOISE = {3: 0.0, 2: 0.05}
"""Standard error of how far lids move over a shot, of the open eye, by level (lids in the picture: guess)."""


def still_lids(readings: Readings, lids: Lids, limits: Limits) -> Iterator[Finding]:
    """Findings of kind follow. value: how much the lids move, of the open eye."""
    eyes, head = eyes_of(readings, lids.actor), lids.actor.head
    if eyes is None or head is None:
        return
    cuts = readings.picture.cuts if readings.picture is not None else ()
    rests = resting(eyes, lids.actor.lids, cuts) & np.isfinite(lids.open) & lids.visible & ~_in_blinks(lids)
    facing = np.asarray(head.direction, np.float64)
    with np.errstate(invalid="ignore"):
        down = np.degrees(np.arcsin(np.clip(eyes.direction[:, 1], -1, 1)) - np.arcsin(np.clip(facing[:, 1], -1, 1)))
    error = 2 * BAR * float(np.nanmedian(eyes.error_deg)) if np.isfinite(eyes.error_deg).any() else 0.0
    for shot in shots_of(readings):
        frames = np.flatnonzero(rests[shot.start : shot.stop] & np.isfinite(down[shot.start : shot.stop])) + shot.start
        if len(frames) < FEWEST:
            continue
        low, high = np.percentile(down[frames], [5, 95])
        if high - low - error <= UP_DOWN:
            continue
        moved = _moved(down[frames], lids.open[frames], high - low)
        if moved + BAR * NOISE[3 if lids.actor.level == 3 else 2] < limits["follow"]:
            yield _still(readings, lids, Span(int(frames[0]), int(frames[-1]) + 1), float(high - low), max(moved, 0.0), limits)


def _in_blinks(lids: Lids) -> Bools:
    found = np.zeros(len(lids.open), np.bool_)
    for blink in lids.blinks:
        found[blink.first : blink.last + 1] = True
    return found


def _moved(down: np.ndarray, opening: np.ndarray, reach: float) -> float:
    """How much further open the eye is at the upper end of its way than at the lower one, by the best line."""
    slope = np.polyfit(down, opening, 1)[0]
    return float(-slope * reach)


def _still(readings: Readings, lids: Lids, span: Span, degrees: float, moved: float, limits: Limits) -> Finding:
    return Finding(
        check="blink", kind="follow", who=lids.who, span=span, value=round(moved, 2), unit="of the open eye that the lids move", limit=limits["follow"],
        weight="polish", confidence=0.75 if lids.actor.level == 3 else 0.55,
        says=f"{lids.who}'s lids stay where they are while the eyes go up and down by {degrees:.0f} degrees, {readings.numbering.text(span)}",
        suggest="Let the upper lid ride on the eye: down with it, and up with it", basis=FOLLOW.basis, level=lids.actor.level,
    )  # fmt: skip
