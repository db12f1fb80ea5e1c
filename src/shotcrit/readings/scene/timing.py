"""Where a movie's first picture lies in a scene's own time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.readings.scene.model import Sampling

Array = npt.NDArray[np.float64]

RATE_APART = 0.01
"""Share by which the spacing of keys may differ from the movie's before it is said (guess; 23.976 against 24 is 0.001)."""
MOST_SPARSE = 8.0
"""Keys a second below which their spacing tells no rate (guess: poses on every third frame)."""


def origin_s(start: float, end: float, sampling: Sampling) -> tuple[float, str | None]:
    """Scene time of the first picture, s, for a format whose time begins at 0, and a sentence where that is not 0.

    start, end : times of the first and last key of the whole scene, s
    Some programs write frame 1 at 1 / rate and frame 1001 at 1001 / rate: then the first picture is taken where it is numbered, or at the first key
    where the keys go on beyond the movie. Keys that begin later but end within the movie are a movement that begins later.
    """
    frame = 1 / sampling.rate
    numbered, last = sampling.first_frame * frame, float(sampling.seconds[-1])
    if start > frame / 2 and (abs(start - numbered) < frame / 4 or end > last + frame / 2):
        at = numbered if start <= numbered + frame / 4 and numbered <= end else start
        return at, f"the scene's keys begin at {start:.3f} s; the movie's first picture is taken at {at:.3f} s of the scene"
    if numbered > max(last, start + 2 * frame) and numbered + last <= end + frame / 2:
        return numbered, f"the movie's first picture is taken at {numbered:.3f} s of the scene, as it is numbered"
    return 0.0, None


def first_code(start: float, end: float, first: int, codes: float) -> float:
    """The time code of the first picture for a stage that does not say where it begins.

    start, end : its first and last time samples; first : the first picture's number; codes : from the first picture to the last, in time codes
    Samples that all lie on the movie's own numbers are numbered alike; others begin with the movie, at 0 or at their first.
    """
    if first - 0.25 <= start and end <= first + codes + 1.5:
        return float(first)
    return 0.0 if 0 <= start < 0.5 else start


def rate_words(keys: Array, rate: float) -> str | None:
    """What is said of keys [shape=(k,)], s, that are set evenly at another rate than the movie's; None for all others."""
    steps = np.diff(keys)
    if len(steps) < MOST_SPARSE or not (steps > 0).all():
        return None
    middle = float(np.median(steps))
    own = 1 / middle
    if own < MOST_SPARSE or np.abs(steps - middle).max() > 0.05 * middle or abs(own - rate) <= RATE_APART * rate:
        return None
    return f"the scene has {own:.4g} keys a second, the movie {rate:.5g} frames a second; it is matched by time"
