"""What a mouth's marks leave open: phones that ask for something which neither was seen nor seen to be missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from shotcrit.checks.finding import NotMeasured
from shotcrit.checks.lipsync.phones import Heard, Missed, closing, closures, dropping, rounding, spreading
from shotcrit.readings.events import Phone
from shotcrit.readings.sound.articulation import articulations

MOST_NAMED = 4
"""Frames that are named; a list is there to be looked at, not to be read."""
TEETH_NEEDS = "a look by eye at {where}: lips that stay too far apart are told, but not whether the lower lip reaches the upper teeth"
WIDTH_NEEDS = "a width of the mouth that is surer than ±{error:.0f} % at {where}, to see whether {what}; mark a rounded and a wide frame"
OPENING_NEEDS = "an opening of the mouth that is surer than ±{error:.0f} % at {where}, to see whether {what}; mark a shut and an open frame"
ASKED = {
    "closure": (OPENING_NEEDS, "the lips meet"),
    "jaw": (OPENING_NEEDS, "the jaw drops"),
    "round": (WIDTH_NEEDS, "the mouth rounds"),
    "spread": (WIDTH_NEEDS, "the corners pull"),
    "teeth_on_lip": (TEETH_NEEDS, ""),
}
"""For each kind what would tell, and what is open."""


@dataclass(frozen=True)
class Untold:
    """kind : one of ASKED; frame : shown; error : parts of the width, or of the widest opening"""

    kind: str
    phone: str
    frame: int
    error: float = 0.0


def untold(heard: Heard, limits: Mapping[str, float]) -> Iterator[Untold]:
    """The phones of a line on which the marks cannot tell."""
    for group in closures(heard):
        yield from _open("closure", heard, group[0], closing(heard, group, limits), limits)
    for phone in heard.speech.phones:
        if articulations()[phone.phone].teeth_on_lip and _teeth_open(heard, phone, limits):
            yield Untold("teeth_on_lip", phone.phone.lower(), _shown(heard, phone))
        yield from _open("round", heard, phone, rounding(heard, phone, limits), limits)
        yield from _open("jaw", heard, phone, dropping(heard, phone, limits), limits)
        yield from _open("spread", heard, phone, spreading(heard, phone, limits), limits)


def _open(kind: str, heard: Heard, phone: Phone, missed: Missed | None, limits: Mapping[str, float]) -> Iterator[Untold]:
    if missed is not None and missed.perhaps(limits):
        yield Untold(kind, phone.phone.lower(), _shown(heard, phone), missed.error)


def _shown(heard: Heard, phone: Phone) -> int:
    return heard.readings.numbering.shown(int(heard.frames(phone)[0]))


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
        text, what = ASKED[kind]
        yield NotMeasured(check, who, text.format(where=f"{where}{more}", what=what, error=100 * max(one.error for one in some)))
