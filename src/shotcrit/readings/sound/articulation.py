"""What mouth the phones ask for: one table of articulations (articulation.json, with its sources), blended over time as speech blends.

Each phone pulls the mouth towards its own targets with a strength that falls off exponentially away from it; what is wanted at a time is the
mean of all pulls. After the dominance functions of Cohen & Massaro (1993), 'Modeling coarticulation in synthetic visual speech' (from memory).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from shotcrit.readings.events import Phone

Array = npt.NDArray[np.float64]

FADE_S = 0.04
"""Time in which a phone's pull falls to 1/e beyond its ends, s (guess: lip gestures cycle in 150 to 200 ms, Stevens 1998, ch. 1)."""
CONTACT_FADE_S = 0.02
"""The same where lips meet or teeth touch the lip: at the instant of closure lips move at near peak speed (Lofqvist & Gracco 1996,
doi:10.1121/1.415541), so a contact comes and goes quicker (the number is a guess)."""
REST_STRENGTH = 0.25
"""Pull of the resting mouth everywhere, against phones' 0.1 .. 3 (guess): in a pause of a few fades the mouth is at rest."""
REST_FADE_S = 0.12
"""How far from speech the resting mouth wins over (guess)."""


@dataclass(frozen=True)
class Articulation:
    """One row of the table. opening: lip gap / mouth width at rest; width: corner distance / at rest; jaw 0 (highest) .. 4."""

    lips: str
    jaw: float
    opening: float
    width: float
    strength: float
    meets: bool
    teeth_on_lip: bool
    tongue: str


@dataclass(frozen=True)
class WantedMouth:
    """opening, width : float64 [shape=(n,)] at the asked times; said: pull of phones against rest, 0 (pause) .. 1 (speech)."""

    opening: Array
    width: Array
    said: Array


@cache
def articulations() -> dict[str, Articulation]:
    """The table, by phone."""
    data = json.loads(files("shotcrit.readings.sound").joinpath("articulation.json").read_text(encoding="utf-8"))
    return {phone: Articulation(**dict(zip(data["fields"], row, strict=True))) for phone, row in data["phones"].items()}


def wanted_mouth(phones: Sequence[Phone], times_s: Array) -> WantedMouth:
    """The mouth that `phones` ask for at times [shape=(n,)], seconds from the first picture.

    w_k(t) = strength_k * exp(-gap_k(t) / fade_k), gap = distance from t to the phone, 0 inside it
    opening(t) = sum(w_k * opening_k) / (sum(w_k) + rest); width alike, with 1 (at rest) as the rest's own
    """
    times = np.asarray(times_s, np.float64)
    table = articulations()
    weight = np.zeros_like(times)
    opening = np.zeros_like(times)
    width = np.zeros_like(times)
    nearest = np.full(times.shape, np.inf)
    for phone in phones:
        row = table.get(phone.phone)
        if row is None:
            continue
        gap = np.maximum(np.maximum(phone.start_s - times, times - phone.end_s), 0.0)
        nearest = np.minimum(nearest, gap)
        pull = row.strength * np.exp(-gap / (CONTACT_FADE_S if row.meets or row.teeth_on_lip else FADE_S))
        weight += pull
        opening += pull * row.opening
        width += pull * row.width
    rest = REST_STRENGTH * (1 - np.exp(-nearest / REST_FADE_S))
    total = np.maximum(weight + rest, 1e-12)
    return WantedMouth(opening=opening / total, width=(width + rest) / total, said=weight / total)
