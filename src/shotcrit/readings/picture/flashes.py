"""Flashes as broadcasters count them: changes of light that go one way and back, and how much of the picture takes part at a time.

Wording seen: W3C, WCAG 2.2 'general flash and red flash thresholds' ('a pair of opposing changes in relative luminance of 10% or more of the maximum
relative luminance (1.0) where the relative luminance of the darker image is below 0.80'; a red flash is 'a pair of opposing transitions involving a
saturated red', one state with R/(R + G + B) >= 0.8 and the states more than 0.2 apart in CIE 1976 u'v'). The same numbers in ITU-R BT.1702 and Ofcom's
Guidance Note, Annex 1: 20 cd/m2 and 160 cd/m2 on a screen of 200 cd/m2, over a quarter of the screen, more than 3 a second (seen quoted, not the originals).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.grid import Floats

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

Flags = npt.NDArray[np.bool_]


def transitions(light: Floats) -> Floats:
    """float32 [shape=(n, 4)]: part of the picture (0..1) on which luminance completes a rise, a fall, and a red flash's turn to red, and from red.

    light : linear light [shape=(n, 3, rows, columns)]. A slow change counts on the frame on which it has gone far enough, once.
    """
    n = len(light)
    flat = np.nan_to_num(light.reshape(n, 3, -1))
    luminance = np.einsum("c,ncp->np", WEIGHTS, flat)
    rise, fall = _turns(luminance)
    to_red, from_red = _red_turns(flat)
    return np.stack([part.mean(axis=1) for part in (rise, fall, to_red, from_red)], axis=1).astype(np.float32)


def _turns(level: Floats) -> tuple[Flags, Flags]:
    """Where each cell's level [shape=(n, cells)] completes a change of CHANGE from its last turn, upward and downward."""
    rise, fall = np.zeros(level.shape, np.bool_), np.zeros(level.shape, np.bool_)
    lowest, highest = level[0].copy(), level[0].copy()
    going = np.zeros(level.shape[1], np.int8)
    for i in range(1, len(level)):
        now = level[i]
        lowest, highest = np.minimum(lowest, now), np.maximum(highest, now)
        up = (now - lowest >= CHANGE - ROUNDING) & (lowest < DARKER_BELOW) & (going != 1)
        down = (highest - now >= CHANGE - ROUNDING) & (now < DARKER_BELOW) & (going != -1) & ~up
        rise[i], fall[i] = up, down
        going[up], going[down] = 1, -1
        lowest[up], highest[up] = now[up], now[up]
        lowest[down], highest[down] = now[down], now[down]
    return rise, fall


def _red_turns(light: Floats) -> tuple[Flags, Flags]:
    """Where each cell turns to, or from, a saturated red: light [shape=(n, 3, cells)]."""
    total = light.sum(axis=1)
    lit = total > DARK
    share = np.where(lit, light[:, 0] / np.maximum(total, DARK), 0)
    colour = _chromaticity(light, lit)
    to_red, from_red = np.zeros(share.shape, np.bool_), np.zeros(share.shape, np.bool_)
    last = colour[0].copy()
    was_red = share[0] >= RED_SHARE
    for i in range(1, len(light)):
        red = share[i] >= RED_SHARE
        far = np.linalg.norm(colour[i] - last, axis=-1) > RED_APART
        to_red[i], from_red[i] = far & red & ~was_red, far & was_red & ~red
        turned = to_red[i] | from_red[i]
        was_red[turned] = red[turned]
        settle = turned | (red == was_red)
        last[settle] = colour[i][settle]
    return to_red, from_red


def _chromaticity(light: Floats, lit: Flags) -> Floats:
    """CIE 1976 u'v' [shape=(n, cells, 2)] of linear BT.709 / sRGB light [shape=(n, 3, cells)] (IEC 61966-2-1 matrix)."""
    matrix = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]], np.float32)
    x, y, z = np.einsum("kc,ncp->knp", matrix, light)
    below = np.maximum(x + 15 * y + 3 * z, 1e-9)
    return np.stack([np.where(lit, 4 * x / below, WHITE[0]), np.where(lit, 9 * y / below, WHITE[1])], axis=-1).astype(np.float32)
