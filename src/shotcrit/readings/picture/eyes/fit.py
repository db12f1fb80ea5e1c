"""The iris as the dark disc that it is: where on the eyeball it sits, from a patch of the eye.

An eye's patch is laid so that its ball is the unit disc: (0, 0) its centre, x to screen right, y down, as seen along the eye's own ray. The iris, its pupil and
the white are rings about the direction in which the eye points; their greys are learnt from a frame on which a person placed the eye. A frame's direction is
the one whose rings fit best; catch lights and lids are pixels that fit no ring and lose their say.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Patch = npt.NDArray[np.float32]

SIDE = 48
"""px; an eye's patch is square."""
REACH = 1.3
"""How far a patch goes from the ball's centre, in radii."""
RING = np.radians(2.0)
"""Width of a ring."""
RINGS = 40
"""Up to 80 degrees from where the eye points."""
AROUND = np.radians(11)
"""How much white around the iris is compared (guess)."""
WEDGE = 0.75
"""Rings are learnt within this sine of the horizontal through the iris, where lids seldom reach (guess)."""
SMALLEST, LARGEST = np.radians(9), np.radians(55)
"""Half angles of an iris; a human one has 29 degrees (asin(5.86 / 12): Rüfer et al. 2005, Bekerman et al. 2014)."""
CAP = 28.0
"""Grey levels; a pixel further off than this is something else (guess)."""
RIM = 0.93
"""Of the radius: further out the ball is seen too edge-on to tell."""
FARTHEST = np.radians(52)
"""How far from the lens an eye is looked for to point (guess; further out the iris is a line)."""
STEP = np.radians(4)
KIN = 5.0
"""Neighbouring pixels that misfit alike count as one (calibrated on rendered eyes)."""


def _grid() -> tuple[Floats, Floats]:
    line = (np.arange(SIDE) - (SIDE - 1) / 2) / ((SIDE - 1) / 2) * REACH
    return np.meshgrid(line, line)


GRID_X, GRID_Y = (g.ravel() for g in _grid())
ON_BALL = GRID_X**2 + GRID_Y**2 < RIM**2
BALL = np.column_stack([GRID_X, GRID_Y, -np.sqrt(np.clip(1 - GRID_X**2 - GRID_Y**2, 0, None))])[ON_BALL]
"""Unit normals of the pixels on the ball, z away from the lens: [shape=(k, 3)]."""


@dataclass(frozen=True)
class EyeLook:
    """rings : grey of each ring, [shape=(RINGS,)]; iris : half angle, radians; lid_upper, lid_lower : grey of the skin above and below
    opening : lids' opening where it was learnt, radii
    """

    rings: Floats
    iris: float
    lid_upper: float
    lid_lower: float
    opening: float = float("nan")

    def paint(self, direction: Floats) -> Floats:
        """Grey of the pixels on the ball, [shape=(k,)], when the eye points along the unit vector `direction`."""
        angle = np.arccos(np.clip(BALL @ direction, -1, 1))
        return np.interp(angle, RING * (np.arange(RINGS) + 0.5), self.rings)


def direction_at(x: float, y: float) -> Floats:
    """The unit vector under (x, y) of the unit disc."""
    far = np.hypot(x, y)
    x, y = (x / far * 0.99, y / far * 0.99) if far > 0.99 else (x, y)
    return np.array([x, y, -np.sqrt(1 - x * x - y * y)])


def learn_look(patch: Patch, direction: Floats) -> EyeLook:
    """The rings of an eye known to point along `direction`."""
    grey = patch.astype(np.float64).ravel()
    ball = grey[ON_BALL]
    angle = np.arccos(np.clip(BALL @ direction, -1, 1))
    off = BALL - direction
    level = np.abs(off[:, 1]) <= WEDGE * np.hypot(off[:, 0], off[:, 1]) + 1e-9
    which = np.minimum((angle / RING).astype(int), RINGS - 1)
    rings = np.full(RINGS, np.nan)
    for k in range(RINGS):
        own = ball[(which == k) & (level | (angle < np.radians(5)))]
        if len(own) >= 2:
            rings[k] = np.median(own)
    known = np.flatnonzero(np.isfinite(rings))
    rings = np.interp(np.arange(RINGS), known, rings[known])
    iris = _iris_edge(rings)
    white = np.median(rings[int(iris / RING) + 2 : int(iris / RING) + 8])
    rings[int(iris / RING) + 3 :] = white
    above, below = (ring_of_skin(grey, side) for side in (-1, 1))
    return EyeLook(rings, iris, above, below)


def _iris_edge(rings: Floats) -> float:
    """Half angle, radians, at which the rings brighten most: the limbus."""
    soft = np.convolve(np.pad(rings, 2, "edge"), np.ones(5) / 5, "valid")
    rise = soft[2:] - soft[:-2]
    low, high = int(SMALLEST / RING), int(LARGEST / RING)
    return float((np.argmax(rise[low - 1 : high - 1]) + low + 0.5) * RING)


def ring_of_skin(grey: Floats, side: int) -> float:
    """Grey of the skin just outside of the ball, above (-1) or below (1) it."""
    far = np.hypot(GRID_X, GRID_Y)
    return float(np.median(grey[(far > 1.08) & (far < 1.28) & (side * GRID_Y > 0.75 * far)]))


class IrisFinder:
    """Finds where an eye points in patches of it. Built once for a look: it holds the look painted in every direction of a grid."""

    def __init__(self, look: EyeLook) -> None:
        self.look = look
        steps = np.arange(-FARTHEST, FARTHEST + 1e-9, STEP)
        tried = [direction_at(np.sin(a), np.sin(b)) for a in steps for b in steps if np.hypot(np.sin(a), np.sin(b)) < np.sin(FARTHEST)]
        self.directions = np.array(tried)
        self.painted = np.stack([look.paint(d) for d in self.directions]).astype(np.float32)
        reach = np.cos(look.iris + AROUND)
        self.near = reach < (BALL @ self.directions.T).T

    def find(self, patch: Patch, gain: float) -> tuple[Floats, float, float]:
        """(direction [shape=(3,)], error in radians, share of the iris that is seen) in a patch whose light is `gain` times the learnt one's."""
        ball = (patch.ravel()[ON_BALL] / gain).astype(np.float32)
        misfit = np.minimum(np.abs(ball[None] - self.painted), CAP)
        cost = (misfit * self.near).sum(1) / self.near.sum(1)
        direction, error = self.directions[int(cost.argmin())], np.inf
        for _ in range(8):
            step, error = self._step(ball, direction)
            direction = direction_at(*(direction[:2] + step))
            if np.abs(step).max() < 1e-3:
                break
        return direction, error, self.seen(ball, direction)

    def seen(self, ball: npt.NDArray[np.float32], direction: Floats) -> float:
        """Share of the iris's pixels that look like iris."""
        inside = BALL @ direction > np.cos(0.9 * self.look.iris)
        return float((np.abs(ball - self.look.paint(direction))[inside] < CAP).mean()) if inside.any() else 0.0

    def _step(self, ball: npt.NDArray[np.float32], direction: Floats) -> tuple[Floats, float]:
        """Gauss-Newton step in (x, y) of the unit disc, with light fitted along, and the error in radians."""
        near = BALL @ direction > np.cos(self.look.iris + AROUND)
        here = self.look.paint(direction)
        small = 0.01
        dx, dy = (self.look.paint(direction_at(*(direction[:2] + d))) - here for d in ((small, 0), (0, small)))
        slopes = np.column_stack([dx / small, dy / small, here / 100])[near]
        rest = (ball - here)[near]
        scale = np.clip(1.4826 * np.median(np.abs(rest)), 2.0, CAP / 2.4)
        trust = 1 / (1 + (rest / (2.4 * scale)) ** 2) ** 2
        normal = (slopes * trust[:, None]).T @ slopes
        normal[np.arange(3), np.arange(3)] += (10.0, 10.0, 300.0)
        step = np.linalg.solve(normal, (slopes * trust[:, None]).T @ rest)[:2]
        spread = np.linalg.inv(normal)[:2, :2]
        flat = max(0.3, abs(float(direction[2])))
        return np.clip(step, -0.1, 0.1), float(np.sqrt(KIN * np.trace(spread)) * scale / flat)
