"""Quick turns of the eyes and head together, with no blink on the way."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shotcrit.checks.about import Limits
from shotcrit.checks.blink.seen import Array, Lids
from shotcrit.checks.finding import Finding, Limit
from shotcrit.checks.sure import BAR
from shotcrit.clock import Span, runs
from shotcrit.geometry.gaze import angle_deg
from shotcrit.readings.bundle import Readings
from shotcrit.readings.looks.space import eyes_of
from shotcrit.readings.shots import shots_of

TURN = Limit(
    "turn_deg", 33.0, "degrees", "lids move with 97 % of gaze shifts of more than 33 degrees (Evinger et al. 1994, Exp. Brain Res. 100:337-344)",
    "How far a look may swing within half a second without a blink.",
)  # fmt: skip
WITHIN_S = 0.5
"""s that such a shift may take (guess: a turn of the head; slower ones follow something)."""
NEAR = 2
"""Frames before and after it on which a blink still belongs to it (references: Evinger et al. 1994)."""


def bare_turns(readings: Readings, lids: Lids, limits: Limits) -> Iterator[Finding]:
    """Findings of kind turn. value: degrees that the look swings."""
    eyes = eyes_of(readings, lids.actor)
    if eyes is None:
        return
    reach = round(WITHIN_S * lids.rate)
    error = np.nan_to_num(eyes.error_deg)
    for shot in shots_of(readings):
        if len(shot) <= reach:
            continue
        way = eyes.direction[shot.start : shot.stop]
        swing = np.nan_to_num(angle_deg(way[reach:], way[:-reach]))
        doubt = BAR * np.hypot(error[shot.start + reach : shot.stop], error[shot.start : shot.stop - reach])
        for far in runs((swing - doubt > limits["turn_deg"]).tolist()):
            at = shot.start + far.start + int(np.argmax(swing[far.start : far.stop]))
            move = _moving(eyes.direction, Span(at, at + reach + 1))
            around = Span(max(shot.start, move.start - NEAR), min(shot.stop, move.stop + NEAR))
            if _unblinked(lids, around):
                yield _turn(readings, lids, move, float(swing[far.start : far.stop].max()), limits)


def _moving(way: Array, whole: Span) -> Span:
    """The part of it in which most of the way is gone."""
    steps = np.nan_to_num(angle_deg(way[whole.start + 1 : whole.stop], way[whole.start : whole.stop - 1]))
    gone = np.cumsum(steps) / max(float(steps.sum()), 1e-9)
    return Span(whole.start + int(np.argmax(gone > 0.05)), whole.start + int(np.argmax(gone >= 0.95)) + 2)


def _unblinked(lids: Lids, around: Span) -> bool:
    known = np.isfinite(lids.open[around.start : around.stop]).all() and lids.visible[around.start : around.stop].all()
    return bool(known) and not any(blink.first < around.stop and blink.last >= around.start for blink in lids.blinks)


def _turn(readings: Readings, lids: Lids, move: Span, degrees: float, limits: Limits) -> Finding:
    return Finding(
        check="blink", kind="turn", who=lids.who, span=move, value=round(degrees), unit="degrees without a blink", limit=limits["turn_deg"],
        weight="polish", confidence=0.6 if lids.actor.level == 3 else 0.5,
        says=f"{lids.who}'s look swings by {degrees:.0f} degrees over {readings.numbering.text(move)}, and the lids stay open",
        suggest="Blink into the turn: shut the lids as it begins, and open them where the look arrives", basis=TURN.basis, level=lids.actor.level,
    )  # fmt: skip
