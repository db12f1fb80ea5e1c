"""When eyes rest: neither in a blink nor in a dart. What all judgements of a look stand on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from shotcrit.geometry.gaze import angle_deg
from shotcrit.readings.acting import Floats, Side
from shotcrit.readings.looks.space import EyePair

Bools = npt.NDArray[np.bool_]

DART_DEG = 1.0
"""Turn a frame from which on eyes are darting, not resting (guess: 24 degrees a second, far below any saccade)."""
LIDS_OPEN = 0.35
"""Share of the open eye below which lids are in a blink (guess)."""


def resting(
    eyes: EyePair, lids: Mapping[Side, Floats], cuts: Sequence[int], *, dart_deg: float = DART_DEG, lids_open: float = LIDS_OPEN
) -> Bools:
    """[shape=(n,)] frames on which the gaze is known, the lids are open and the eyes do not turn faster than `dart_deg` a frame.

    cuts : first frames of new shots; the camera's change there is no turn of the eyes
    Noise of the reading is allowed for: a turn counts from dart_deg + 2 standard errors on.
    """
    direction = eyes.direction
    turn = np.zeros(len(direction))
    turn[1:] = np.nan_to_num(angle_deg(direction[1:], direction[:-1]), nan=0.0)
    turn[[c for c in cuts if 0 < c < len(turn)]] = 0.0
    near = np.maximum(turn, np.append(turn[1:], 0.0))
    still = near < dart_deg + 2 * np.nan_to_num(eyes.error_deg, nan=0.0)
    known = np.asarray(still & np.isfinite(direction).all(axis=1), bool)
    for opening in lids.values():
        known &= ~(np.nan_to_num(np.asarray(opening, np.float64), nan=1.0) < lids_open)
    return known
