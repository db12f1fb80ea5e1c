"""Where one shot ends and the next begins: PySceneDetect's scores, and four questions that a true cut answers with no.

Did the picture come back a moment later (a flash)? Is it the same picture in other light? Can movement explain the change (a whip pan)? Is it one of the
jumps of a zoom that moves in steps?
A dissolve changes a little on every frame and is no cut here.
"""

from __future__ import annotations

import numpy as np

from shotcrit.media.blocks import Rows
from shotcrit.readings.picture.light import split
from shotcrit.readings.picture.nearer import is_nearer, steps_of_a_zoom
from shotcrit.readings.picture.stillness.grid import Floats

LEAST_SCORE = 15.0
"""content_val a cut must reach: PySceneDetect's AdaptiveDetector default, min_content_val."""
RATIO = 3.0
"""times the mean score of its neighbours: AdaptiveDetector's default, adaptive_threshold."""
WINDOW = 2
"""frames each side: AdaptiveDetector's default, window_width."""
SURE_SCORE, SURE_RATIO = 27.0, 1.8
"""A score as high as ContentDetector's default threshold needs to stand out less, so that shots of 2 to 5 frames are found (guess)."""
FLASH = 2
"""frames: a picture that is back after so few was lit by a flash (guess)."""
BACK = 0.4
"""A picture is back when its distance is under this part of the change (guess)."""
SAME_LIGHT = 0.92
"""Correlation of the cells' brightness above which it is one picture in other light (guess: two shots of one set stay under 0.85)."""
UNEXPLAINED = 2.5
"""times the median of the neighbours' change that no movement explains, at the least, for a cut (guess)."""
NEAR = 5
"""frames each side for that median."""


def adaptive_ratio(score: Floats) -> Floats:
    """score[i] over the mean of its WINDOW neighbours each side, as AdaptiveDetector defines it; at the ends with the neighbours there are.

    Capped at 255; 0 where score and neighbours are all 0. The first frame has no score and is no neighbour.
    """
    n = len(score)
    out = np.zeros(n, np.float32)
    for i in range(1, n):
        near = [score[j] for j in range(max(1, i - WINDOW), min(n, i + WINDOW + 1)) if j != i]
        mean = float(np.mean(near)) if near else 0.0
        out[i] = min(score[i] / mean, 255.0) if mean > 1e-5 else (255.0 if score[i] >= LEAST_SCORE else 0.0)
    return out


def find_cuts(score: Floats, rows: Rows, unmatched: Floats) -> tuple[int, ...]:
    """Index of the first frame of each new shot.

    score : content_val [shape=(n,)]; rows : of the light reading; unmatched : see grid.Cells
    """
    ratio = adaptive_ratio(score)
    strong = (score >= LEAST_SCORE) & (ratio >= RATIO) | (score >= SURE_SCORE) & (ratio >= SURE_RATIO)
    found = [i for i in map(int, np.flatnonzero(strong)) if i > 0 and _cuts_at(rows, i) and _unexplained(unmatched, i)]
    zoom = (
        steps_of_a_zoom([i for i in found if is_nearer(*np.sqrt(np.clip(split(rows[i - 1 : i + 1])[1], 0, 1)))]) if len(found) > 2 else ()
    )
    return tuple(i for i in found if i not in zoom)


def _cuts_at(rows: Rows, at: int) -> bool:
    first = max(0, at - 1 - FLASH)
    light = split(rows[first : at + FLASH + 1])[1]
    look = np.sqrt(np.clip(light, 0, 1)).reshape(len(light), -1)
    return not _comes_back(look, at - first) and not _same_in_other_light(look, at - first)


def _comes_back(look: Floats, at: int) -> bool:
    """Whether a picture just before is like one just after."""
    change = float(np.abs(look[at] - look[at - 1]).mean())
    before = range(max(0, at - 1 - FLASH), at)
    after = range(at, min(len(look), at + FLASH + 1))
    pairs = [(a, b) for a in before for b in after if b - a > 1 and b - a <= FLASH + 1]
    return any(float(np.abs(look[b] - look[a]).mean()) < BACK * change for a, b in pairs)


def _same_in_other_light(look: Floats, at: int) -> bool:
    a, b = (look[k].reshape(3, -1).mean(axis=0) for k in (at - 1, at))
    a, b = a - a.mean(), b - b.mean()
    length = float(np.linalg.norm(a) * np.linalg.norm(b))
    return length > 1e-9 and float(a @ b) / length > SAME_LIGHT


def _unexplained(unmatched: Floats, at: int) -> bool:
    near = np.concatenate([unmatched[max(1, at - NEAR) : at], unmatched[at + 1 : at + NEAR + 1]])
    near = near[np.isfinite(near)]
    return len(near) == 0 or bool(unmatched[at] > UNEXPLAINED * np.median(near))
