"""Does a character blink far more or far less often than people do?"""

from __future__ import annotations

from collections.abc import Iterator
from math import exp

import numpy as np

from shotcrit.plugin import Acting, Finding, Kind, Limit, Limits, Needs, NotMeasured, Readings, Result, Span

ID = "blink_rate"
TITLE = "How often a character blinks"
HELP = "Holds each character's blinks a minute, over the frames on which the lids are seen, against those of people who rest and who talk."
NAME = "blinking"
VERSION = 1
KINDS = (Kind("often", "too often"), Kind("seldom", "too seldom"))
COLUMN = "eyes"
NEEDS = Needs(("pictures", "cast"), marks=("lid_upper_left", "lid_lower_left", "lid_upper_right", "lid_lower_right"))

PEOPLE = "Bentivoglio et al. (1997), Mov. Disord. 12:1028-1034: 17 blinks a minute at rest, 26 in conversation, 4.5 reading"
LIMITS = (
    Limit("most", 52, "blinks a minute", f"{PEOPLE}; twice the rate in conversation, the factor is a guess", "Blinks a minute that pass."),
    Limit("least", 4.5, "blinks a minute", PEOPLE, "Blinks a minute below which a character stares."),
    Limit(
        "chance",
        0.025,
        "probability",
        "common practice, no source: one tail of 95 %",
        "How easily chance may do the same before it is told.",
    ),
)


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds often and seldom; value: blinks a minute."""
    people = [character.name for character in readings.cast.characters] if readings.cast else []
    seen = {who: actor for who in people if (actor := readings.actor(who)) is not None and actor.lids}
    found = [finding for who, actor in seen.items() for finding in _judge(readings, who, actor, limits)]
    missing = [NotMeasured(ID, who, "marks on the upper and lower lids, or a scene with lids") for who in people if who not in seen]
    if not people:
        missing = [NotMeasured(ID, None, "a cast, with marks on the lids")]
    return Result(tuple(found), tuple(missing))


def _judge(readings: Readings, who: str, actor: Acting, limits: Limits) -> Iterator[Finding]:
    known = np.any([np.isfinite(lid) for lid in actor.lids.values()], axis=0)
    frames = np.flatnonzero(known)
    if not len(frames):
        return
    minutes = len(frames) / float(readings.clock.rate) / 60
    blinks = sum(blink.who == who for blink in readings.blinks)
    span = Span(int(frames[0]), int(frames[-1]) + 1)
    for kind, limit, chance in (
        ("often", limits["most"], 1 - at_most(blinks - 1, limits["most"] * minutes)),
        ("seldom", limits["least"], at_most(blinks, limits["least"] * minutes)),
    ):
        if chance < limits["chance"]:
            yield _finding(readings, kind, who, span, blinks, minutes, limit, actor.level)


def at_most(count: int, expected: float) -> float:
    """Probability of `count` blinks or fewer where `expected` are usual, if each comes by chance (Poisson)."""
    term, total = exp(-expected), 0.0
    for k in range(count + 1):
        total += term
        term *= expected / (k + 1)
    return min(total, 1.0)


def _finding(readings: Readings, kind: str, who: str, span: Span, blinks: int, minutes: float, limit: float, level: int) -> Finding:
    where = readings.numbering.text(span)
    times = f"{blinks} time{'' if blinks == 1 else 's'}" if blinks else "not once"
    says = f"{who} blinks {times} over {where}, in {60 * minutes:.0f} seconds of eyes that are seen"
    suggest = {
        "often": "keep the blinks that mean something, at a thought or a turn of the head, and take out the rest",
        "seldom": "give a blink to a change of thought or a turn of the head",
    }[kind]
    return Finding(
        ID,
        kind,
        who,
        span,
        round(blinks / minutes, 1),
        "blinks a minute",
        limit,
        "polish",
        0.6,
        says,
        suggest,
        PEOPLE,
        3 if level == 3 else 2,
    )
