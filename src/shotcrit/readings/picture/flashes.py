"""Flashes as broadcasters count them: changes of light that go one way and back, and how much of the picture takes part at a time.

Wording seen: W3C, WCAG 2.2 'general flash and red flash thresholds' ('a pair of opposing changes in relative luminance of 10% or more of the maximum
relative luminance (1.0) where the relative luminance of the darker image is below 0.80'; a red flash is 'a pair of opposing transitions involving a
saturated red', one state with R/(R + G + B) >= 0.8 and the states more than 0.2 apart in CIE 1976 u'v'). The same numbers in ITU-R BT.1702 and Ofcom's
Guidance Note, Annex 1: 20 cd/m2 and 160 cd/m2 on a screen of 200 cd/m2, over a quarter of the screen, more than 3 a second (seen quoted, not the originals).
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.stillness.grid import Floats
from shotcrit.readings.seen import Flashing

CHANGE = 0.10
"""of the greatest relative luminance: WCAG 2.2; 20 of 200 cd/m2 in BT.1702."""
DARKER_BELOW = 0.80
"""relative luminance of the darker state: WCAG 2.2; 160 of 200 cd/m2 in BT.1702."""
RED_SHARE = 0.80
"""R / (R + G + B), linear, of a saturated red: WCAG 2.2."""
RED_APART = 0.20
"""distance in CIE 1976 u'v' between the two states: WCAG 2.2."""
ROUNDING = 1e-4
"""Relative luminance: taken off each limit, so that a change of exactly the limit counts in spite of float32 (guess)."""
WEIGHTS = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""of linear R, G, B in relative luminance: WCAG 2.2, ITU-R BT.709-6."""
DARK = 1e-3
"""Sum of linear R, G, B under which a colour is taken as the white point: black has none (guess)."""
WHITE = (0.1978, 0.4683)
"""u', v' of D65."""
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]], np.float32)
"""CIE XYZ of linear BT.709 / sRGB light: IEC 61966-2-1."""

Flags = npt.NDArray[np.bool_]


def transitions(light: Iterable[Floats], frames: int) -> Flashing:
    """On which part of the picture luminance completes a rise, a fall, and a red flash's turn to red, and from red.

    light : linear light of each picture, [shape=(3, rows, columns)]. A slow change counts on the frame on which it has gone far enough, once.
    """
    out = np.zeros((frames, 4), np.float32)
    level: _Level | None = None
    red: _Red | None = None
    for i, picture in enumerate(light):  # picture by picture: a long movie's flags would take more memory than all its readings
        cells = np.nan_to_num(picture.reshape(3, -1))
        if level is None or red is None:
            level, red = _Level(WEIGHTS @ cells), _Red(cells)
        else:
            out[i] = [part.mean() for part in (*level.turns(WEIGHTS @ cells), *red.turns(cells))]
    return Flashing(*np.ascontiguousarray(out.T))


class _Level:
    """Each cell's relative luminance since its last turn, float32 [shape=(cells,)]."""

    def __init__(self, level: Floats) -> None:
        self._lowest, self._highest = level.copy(), level.copy()
        self._going = np.zeros(len(level), np.int8)

    def turns(self, now: Floats) -> tuple[Flags, Flags]:
        """Where it completes a change of CHANGE from its last turn, upward and downward."""
        low, high = np.minimum(self._lowest, now), np.maximum(self._highest, now)
        up = (now - low >= CHANGE - ROUNDING) & (low < DARKER_BELOW) & (self._going != 1)
        down = (high - now >= CHANGE - ROUNDING) & (now < DARKER_BELOW) & (self._going != -1) & ~up
        self._going[up], self._going[down] = 1, -1
        self._lowest, self._highest = np.where(up | down, now, low), np.where(up | down, now, high)
        return up, down


class _Red:
    """Each cell's last settled colour, and whether it was a saturated red."""

    def __init__(self, light: Floats) -> None:
        """light : float32 [shape=(3, cells)], linear"""
        self._last, share = _colour(light)
        self._was = share >= RED_SHARE

    def turns(self, light: Floats) -> tuple[Flags, Flags]:
        """Where it turns to a saturated red, and from one."""
        colour, share = _colour(light)
        red = share >= RED_SHARE
        far = np.linalg.norm(colour - self._last, axis=-1) > RED_APART
        to_red, from_red = far & red & ~self._was, far & self._was & ~red
        turned = to_red | from_red
        self._was = np.where(turned, red, self._was)
        self._last = np.where((turned | (red == self._was))[:, None], colour, self._last)
        return to_red, from_red


def _colour(light: Floats) -> tuple[Floats, Floats]:
    """(CIE 1976 u'v' [shape=(cells, 2)], R / (R + G + B) [shape=(cells,)]) of linear light [shape=(3, cells)]."""
    total = light.sum(axis=0)
    lit = total > DARK
    share = np.where(lit, light[0] / np.maximum(total, DARK), 0)
    x, y, z = TO_XYZ @ light
    below = np.maximum(x + 15 * y + 3 * z, 1e-9)
    colour = np.stack([np.where(lit, 4 * x / below, WHITE[0]), np.where(lit, 9 * y / below, WHITE[1])], axis=-1)
    return np.asarray(colour, np.float32), np.asarray(share, np.float32)
