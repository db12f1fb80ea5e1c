"""What mouth the phones ask for: one table of articulations (articulation.json, with its sources), blended over time as speech blends.

Each phone pulls the mouth towards its own targets with a strength that falls off exponentially away from it; what is wanted at a time is the
mean of all pulls. After the dominance functions of Cohen & Massaro (1993), 'Modeling coarticulation in synthetic visual speech' (from memory).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from shotcrit.readings.events import Phone

Array = npt.NDArray[np.float64]

BLOCK = 512
"""Times that are worked on together, so that ten minutes of speech need no more memory than ten seconds."""
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


@lru_cache(maxsize=64)
def _asked(phones: tuple[Phone, ...]) -> Array:
    """float64 [shape=(6, k)]: start and end (seconds), strength, fade (seconds), opening and width of the k phones that the table has."""
    known = [(phone, articulations()[phone.phone]) for phone in phones if phone.phone in articulations()]
    fades = [CONTACT_FADE_S if row.meets or row.teeth_on_lip else FADE_S for _, row in known]
    rows = [(p.start_s, p.end_s, row.strength, fade, row.opening, row.width) for (p, row), fade in zip(known, fades, strict=True)]
    return np.array(rows, np.float64).reshape(-1, 6).T


def _pulls(asked: Array, times: Array) -> Array:
    """float64 [shape=(4, n)]: sums of the pulls, of their openings and widths, and the way to the nearest phone, s, at times [shape=(n,)]."""
    starts, ends, strengths, fades, openings, widths = asked
    gap = np.maximum(np.maximum(starts - times[:, None], times[:, None] - ends), 0.0)
    pull = strengths * np.exp(-gap / fades)
    return np.array([pull.sum(axis=1), pull @ openings, pull @ widths, gap.min(axis=1, initial=np.inf)])


def wanted_mouth(phones: Sequence[Phone], times_s: Array) -> WantedMouth:
    """The mouth that `phones` ask for at times [shape=(n,)], seconds from the first picture.

    w_k(t) = strength_k * exp(-gap_k(t) / fade_k), gap = distance from t to the phone, 0 inside it
    opening(t) = sum(w_k * opening_k) / (sum(w_k) + rest); width alike, with 1 (at rest) as the rest's own
    """
    times = np.asarray(times_s, np.float64)
    asked = _asked(tuple(phones))
    blocks = [_pulls(asked, times[at : at + BLOCK]) for at in range(0, len(times), BLOCK)]
    weight, opening, width, nearest = np.concatenate([np.zeros((4, 0)), *blocks], axis=1)
    rest = REST_STRENGTH * (1 - np.exp(-nearest / REST_FADE_S))
    total = np.maximum(weight + rest, 1e-12)
    return WantedMouth(opening=opening / total, width=(width + rest) / total, said=weight / total)
