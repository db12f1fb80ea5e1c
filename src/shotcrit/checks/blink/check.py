"""blink: how often, how long, both eyes at once, shut sooner than open, with a turn of the look, and lids that go where the eyes go. Levels 2 and 3."""

from __future__ import annotations

from collections.abc import Iterator

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.blink.follow import FOLLOW, still_lids
from shotcrit.checks.blink.seen import Lids, lids_of
from shotcrit.checks.blink.shape import APART, SLOWER, shaped
from shotcrit.checks.blink.stare import OFTEN, STARE, flutters, stares
from shotcrit.checks.blink.turns import TURN, bare_turns
from shotcrit.checks.finding import Finding, NotMeasured, Result
from shotcrit.readings.bundle import Readings

ID = "blink"
TITLE = "Lids and blinks"
HELP = "Whether lids do as lids do: blink neither too seldom nor too often, both at once, shut sooner than open, on a swing of the look, and go with the eyes."
NAME = "blink"
VERSION = 1
COLUMN: Column = "eyes"
KINDS = (
    Kind("stare", "stare"), Kind("often", "too often"), Kind("apart", "eyes apart"), Kind("slower", "slow to close"), Kind("turn", "turn without a blink"),
    Kind("follow", "lids stay"),
)  # fmt: skip
NEEDS = Needs(
    ("cast",),
    marks=(
        "eye_left", "eye_right", "eye_left_edge", "eye_right_edge", "iris_left", "iris_right", "lid_upper_left", "lid_lower_left", "lid_upper_right",
        "lid_lower_right",
    ),
)  # fmt: skip
LIMITS = (STARE, OFTEN, APART, SLOWER, TURN, FOLLOW)
LIDS = "lids: marks of both eyes on a frame where they look straight ahead, or a scene with them"


def run(readings: Readings, limits: Limits) -> Result:
    """Judge the lids of every character that has any. Drawings blink as they are drawn, and are left alone."""
    if readings.medium != "cg":
        return Result()
    found: list[Finding] = []
    missing: list[NotMeasured] = (
        [] if readings.cast and readings.cast.characters else [NotMeasured(ID, None, f"a character in the cast, with its {LIDS}")]
    )
    for person in readings.cast.characters if readings.cast else ():
        actor = readings.actor(person.name)
        lids = lids_of(readings, actor) if actor is not None else None
        if lids is None:
            missing.append(NotMeasured(ID, person.name, (actor.lacks.get("eyes") if actor is not None else None) or LIDS))
            continue
        found += _judged(readings, lids, limits)
    return Result(tuple(found), tuple(missing))


def _judged(readings: Readings, lids: Lids, limits: Limits) -> Iterator[Finding]:
    """All of one character's; a turn within a stare is the stare's."""
    stared = list(stares(readings, lids, limits))
    yield from stared
    for judge in (flutters, shaped, still_lids):
        yield from judge(readings, lids, limits)
    for turn in bare_turns(readings, lids, limits):
        if not any(turn.span.overlap(stare.span) is not None for stare in stared):
            yield turn
