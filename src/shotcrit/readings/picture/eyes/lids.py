"""Lids by what they cover: how far they are open, and blinks, which are events and not movements of the eye."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shotcrit.clock import runs
from shotcrit.readings.events import Blink
from shotcrit.readings.picture.eyes.fit import CAP, GRID_X, GRID_Y, ON_BALL, SIDE, EyeLook

Floats = npt.NDArray[np.float64]
Patch = npt.NDArray[np.float32]

MIDDLE = 0.35
"""Half width, radii, of the strip in which lids are measured: the middle of the slit, wherever the eye looks (guess)."""
DIP = 0.62
"""Part of the lids' usual opening under which a short closing counts as a blink (guess; half of all blinks are partial, Ousler et al. 2014)."""
SHUT = 0.25
"""The same at the least opening of a full blink (guess)."""
LEVEL = np.abs(GRID_Y[ON_BALL]) < 0.4
"""Pixels of the ball in the middle of the slit, where a lid that is no blink seldom reaches (guess)."""
LIGHTS = np.linspace(0.76, 1.24, 13)
"""Light of the ball against the skin's that is tried, learnt frame 1 (guess)."""
FAITH = 16.0
"""Grey levels of misfit that a light must save to be taken for twice or none of the learnt one (guess)."""
IRIS_SEEN = 0.6
"""Share of the iris that must be seen for its eye to have a light of its own (guess)."""
LONGEST_S = 0.5
"""Seconds; a longer closing is closed eyes, no blink (Stern et al. 1984)."""


def slit(patch: Patch, look: EyeLook, direction: Floats, gain: float, seen: float = 0.0) -> tuple[float, float]:
    """Heights (upper, lower), radii, y down, between which the eyeball is seen; equal where it is not seen at all.

    gain : light of the skin around, learnt frame 1; seen : share of the iris that is seen, 0..1
    The two borders are those with the least misfit of eye between them and of skin beyond.
    """
    grey = patch.astype(np.float64).ravel() / gain
    eye = np.full(grey.shape, np.nan)
    painted = look.paint(direction)
    # Without an iris to hold it to, lids over white would pass for white in another light.
    light = _light(grey[ON_BALL], painted) if seen >= IRIS_SEEN else 1.0
    eye[ON_BALL] = light * painted
    near = np.abs(GRID_X) < MIDDLE
    # Lids lie on the ball and are shaded as it is.
    skin = light * np.where(GRID_Y < 0, look.lid_upper, look.lid_lower)
    worth = np.where(near & ON_BALL, np.minimum(np.abs(grey - eye), 40) - np.minimum(np.abs(grey - skin), 40), 0.0)
    by_row = np.nan_to_num(worth).reshape(SIDE, SIDE).sum(1)
    edges = np.concatenate([[0], np.cumsum(by_row)])
    # Least sum over rows upper..lower-1: for every lower edge the greatest running total before it.
    best, span, top = 0.0, (0, 0), 0
    for low in range(1, len(edges)):
        if edges[low - 1] > edges[top]:
            top = low - 1
        if edges[low] - edges[top] < best:
            best, span = edges[low] - edges[top], (top, low)
    if span == (0, 0):
        return 0.0, 0.0
    first, step = float(GRID_Y.min()), float(GRID_Y.max() - GRID_Y.min()) / (SIDE - 1)
    upper, lower = (_between(by_row, edge, sign) for edge, sign in ((span[0], 1), (span[1] - 1, -1)))
    return first + (span[0] - 0.5 - upper) * step, first + (span[1] - 0.5 + lower) * step


def _light(seen: Floats, painted: Floats) -> float:
    """Light of the ball [shape=(k,)] in this frame, against the learnt one's: it is shaded unlike the skin around it once a head or a light turns.

    The one with the least misfit in the middle of the slit. Its reach is bounded: white in half of its light would be skin.
    """
    costs = [float(np.minimum(np.abs(seen - light * painted)[LEVEL], CAP).mean()) + FAITH * abs(light - 1) for light in LIGHTS]
    return float(LIGHTS[int(np.argmin(costs))])


def _between(by_row: Floats, row: int, sign: int) -> float:
    """How much of the row beyond the border is eye too, 0..0.9: rows are coarser than lids."""
    beyond = row - sign
    if not 0 <= beyond < len(by_row) or by_row[row] >= 0:
        return 0.0
    return float(np.clip(0.5 - by_row[beyond] / (2 * abs(by_row[row]) + 1e-9), 0, 0.9)) * 0.5


def find_blinks(who: str, openings: dict[str, npt.NDArray[np.float32]], rate: float) -> tuple[Blink, ...]:
    """Blinks of one character from the lids' openings, [shape=(n_frames,)] of each side, usual opening 1, nan unknown.

    A blink is a dip under DIP for at most LONGEST_S on every eye that is seen; its ends are where the lids are nearly as open as before.
    """
    if not openings:
        return ()
    series = np.stack(list(openings.values())).astype(np.float64)
    # A blink shuts both eyes: the one that is open further speaks, and one eye misread makes no blink.
    each = np.stack([row / _usual(row, int(rate)) for row in series])
    level = np.where(np.isfinite(each).any(0), np.max(np.where(np.isfinite(each), each, -np.inf), axis=0), np.nan)
    blinks = []
    for dip in runs(bool(v) for v in np.nan_to_num(level, nan=1.0) < DIP):
        if len(dip) > LONGEST_S * rate + 1 or dip.start == 0 or dip.stop == len(level):
            continue
        first, last = _ends(level, dip.start, dip.last)
        lowest = dip.start + int(np.nanargmin(level[dip.start : dip.stop]))
        blinks.append(Blink(who, first, lowest, last, bool(level[lowest] > SHUT)))
    return tuple(blinks)


def _usual(values: Floats, reach: int) -> Floats:
    """The upper third of the openings within a second or so before and after."""
    out = np.ones(len(values))
    for i in range(len(values)):
        near = values[max(0, i - 2 * reach) : i + 2 * reach + 1]
        near = near[np.isfinite(near)]
        out[i] = max(float(np.quantile(near, 0.67)), 1e-3) if len(near) else 1.0
    return out


def _ends(level: Floats, first: int, last: int) -> tuple[int, int]:
    while first > 0 and level[first - 1] < 0.9 and level[first - 1] > level[first] + 0.02:
        first -= 1
    while last < len(level) - 1 and level[last + 1] < 0.9 and level[last + 1] > level[last] + 0.02:
        last += 1
    return first, last
