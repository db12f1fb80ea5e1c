"""What a mouth's marks leave open: phones that ask for something which neither was seen nor seen to be missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from shotcrit.checks.finding import NotMeasured
from shotcrit.checks.lipsync.phones import ROUNDED, Heard, rounding
from shotcrit.readings.events import Phone
from shotcrit.readings.sound.articulation import articulations

MOST_NAMED = 4
"""Frames that are named; a list is there to be looked at, not to be read."""
TEETH_NEEDS = "a look by eye at {where}: lips that stay too far apart are told, but not whether the lower lip reaches the upper teeth"
ROUND_NEEDS = (
    "a width of the mouth that is surer than ±{error:.0f} % at {where}, to see whether the mouth rounds; mark a rounded and a wide frame"
)


@dataclass(frozen=True)
class Untold:
    """kind : teeth_on_lip or round; frame : shown; error : of the width, parts of it"""

    kind: str
    phone: str
    frame: int
    error: float = 0.0


def untold(heard: Heard, limits: Mapping[str, float]) -> Iterator[Untold]:
    """The f, v, w, oo and oh of a line on which the marks cannot tell."""
    for phone in heard.speech.phones:
        frame = heard.readings.numbering.shown(int(heard.frames(phone)[0]))
        if articulations()[phone.phone].teeth_on_lip and _teeth_open(heard, phone, limits):
            yield Untold("teeth_on_lip", phone.phone.lower(), frame)
        elif phone.phone in ROUNDED and phone.stress != 0:
            narrow, error, sure = rounding(heard, phone, limits)
            if narrow < limits["round"] and sure < limits["sure"]:
                yield Untold("round", phone.phone.lower(), frame, error)


def _teeth_open(heard: Heard, phone: Phone, limits: Mapping[str, float]) -> bool:
    """Lips near enough for an f, and nothing that says where the teeth are."""
    gap = heard.mouth.opening[heard.frames(phone, around=limits["closure_window"])]
    near = bool(np.isfinite(gap).any()) and float(np.nanmin(gap)) <= limits["teeth_on_lip"] * heard.reach
    return near and heard.mouth.teeth_on_lip is None


def needs(check: str, who: str, found: Sequence[Untold]) -> Iterator[NotMeasured]:
    """One line a kind, with the frames."""
    for kind, group in groupby(sorted(found, key=lambda one: (one.kind, one.frame)), lambda one: one.kind):
        some = list(group)
        where = ", ".join(f"{one.phone} at {one.frame}" for one in some[:MOST_NAMED])
        more = f" and {len(some) - MOST_NAMED} more" if len(some) > MOST_NAMED else ""
        text = TEETH_NEEDS if kind == "teeth_on_lip" else ROUND_NEEDS
        yield NotMeasured(check, who, text.format(where=f"{where}{more}", error=100 * max(one.error for one in some)))
