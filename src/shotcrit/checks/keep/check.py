"""keep: what is done well and worth keeping, so that a review does not consist of faults. At most three a shot, one of a kind. Levels 2 and 3.

Only what a measure says is offered, and nothing of a part that another check would fault there.
"""

from __future__ import annotations

from collections.abc import Iterable

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import COMMON, Finding, Limit, Result
from shotcrit.checks.keep.acted import breaths, eye_lines
from shotcrit.checks.keep.good import Good
from shotcrit.checks.keep.moved import alive, arcs, overlap
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.paths import paths_of
from shotcrit.readings.shots import shots_of

ID = "keep"
TITLE = "What to keep"
HELP = "Offers what is done well as something to keep: eye lines over a cut, acted breaths, overlap, clean arcs, holds that stay alive; three a shot at most."
NAME = "well done"
VERSION = 1
COLUMN: Column = "body"
KINDS = (
    Kind("eyeline", "eye line"),
    Kind("breath", "breath"),
    Kind("overlap", "overlap"),
    Kind("arc", "arc"),
    Kind("alive", "moving hold"),
)
NEEDS = Needs(
    ("pictures", "sound", "cast"), marks=("chest", "shoulder_left", "shoulder_right", "hand_left", "hand_right", "head_top"), contacts=True
)
LIMITS = (
    Limit("meet_deg", 2.0, "degrees", "adults see 1 to 2 degrees of error towards objects (Vida & Maurer 2012, J. Exp. Child Psychol. 111, second hand)",
          "How far two looks across a cut may miss each other to be kept."),
    Limit("lift", 0.015, "of head height", "quiet breathing lifts the chest by 1.5 to 2 % of a head (De Groote et al. 1997, J. Appl. Physiol. 83:1531-1537)",
          "How far chest and shoulders rise with a breath that is worth keeping."),
    Limit("alike", 0.85, "correlation", "guess: a part that trails well does what it hangs on does, later and softer",
          "How much a loose part does what carries it does."),
    Limit("smooth", 1.55, "spectral arc length", "calculated: a minimum-jerk stroke has 1.4 (Balasubramanian et al. 2015, J. NeuroEng. Rehabil. 12:112); "
        "guess: the margin",
          "The longest spectrum that the speed of a movement along a clean arc may have."),
    Limit("alive", 0.00015, "of the width a frame", f"{COMMON}: a hold in CG lives by a drift that is hardly seen; guess: its size",
        "How much a hold moves that stays alive."),
)  # fmt: skip
MOST = 3
"""A shot (the issue's own number)."""
SUGGEST = {
    "eyeline": "Keep these eye lines as they are",
    "breath": "Keep this breath, and measure the others by it",
    "overlap": "Keep this overlap when the move is changed",
    "arc": "Keep this arc and its spacing",
    "alive": "Keep this drift to the last frame",
}


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of weight keep. value: as each kind says."""
    if readings.medium != "cg" or not readings.acting:
        return Result()
    paths = paths_of(readings)
    good = [
        *eye_lines(readings, limits), *breaths(readings, limits), *overlap(readings, paths, limits), *arcs(readings, paths, limits),
        *alive(readings, paths, limits),
    ]  # fmt: skip
    return Result(tuple(_finding(one, limits) for one in chosen(readings, good)))


def chosen(readings: Readings, good: Iterable[Good]) -> list[Good]:
    """Of each kind the best in a shot, MOST in all, in the order of KINDS. What lies over a cut belongs to the shot that it ends."""
    found: list[Good] = []
    offered = list(good)
    for shot in shots_of(readings):
        here = [one for one in offered if one.span.start in shot]
        best = [max((one for one in here if one.kind == kind.id), key=lambda one: one.best, default=None) for kind in KINDS]
        found += [one for one in best if one is not None][:MOST]
    return found


def _finding(good: Good, limits: Limits) -> Finding:
    basis = next(one.basis for one in LIMITS if one.name == good.limit)
    return Finding(
        check=ID, kind=good.kind, who=good.who, span=good.span, value=good.value, unit=good.unit, limit=limits[good.limit], weight="keep",
        confidence=good.confidence, says=good.says, suggest=SUGGEST[good.kind], basis=basis, level=good.level, curves=good.curves, strokes=good.strokes,
    )  # fmt: skip
