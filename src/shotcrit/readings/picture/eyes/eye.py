"""Eyes in the picture: eyeball, iris, gaze and lids of one eye, frame by frame, from the head's movement and patches of the full-size picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.geometry.eyeball import angle_between, eyeball_at, look_at_pixel, ray_of
from shotcrit.readings.acting import Gaze, MarkTrack
from shotcrit.readings.picture.eyes.fit import GRID_X, GRID_Y, SIDE, EyeLook, IrisFinder, direction_at, learn_look, ring_of_skin
from shotcrit.readings.picture.eyes.lids import slit
from shotcrit.readings.picture.head.face import spot
from shotcrit.readings.picture.head.steady import SUNK, Steady

Floats = npt.NDArray[np.float64]
Luma = npt.NDArray[np.uint8]

HIDDEN = 0.4
"""Share of the iris that must be seen for a gaze (guess)."""
NARROW = 0.4
"""Of the usual opening: under it the eye is in a blink and its gaze unknown."""
PLACED = 0.02
"""How well a person places the centre and the edge of an eyeball, radii: 0.6 px on an eye of 60 (guess)."""
SUNK_ERROR = 0.15
"""How well SUNK is known, radii (guess)."""
WORST = 15.0
"""Degrees; a gaze less sure than this is none (guess: half of how far eyes turn to the side)."""
SMALLEST = 6.0
"""px of the full-size frame; an eyeball with a lesser radius shows no gaze (at 6 px a pixel is 10 degrees)."""


@dataclass
class EyePlan:
    """One eye on the head's reference frame, px of the working size: centre, radius (across the eye's ray), depth of its centre.

    slips : by frame on which a person placed the centre, how far it lies from where the head's movement takes it
    """

    side: str
    centre: Floats
    radius: float
    depth: float
    iris: Floats | None
    look: EyeLook | None = None
    slips: dict[int, Floats] = field(default_factory=dict)
    patches: dict[int, tuple[npt.NDArray[np.float32], Floats, float, float]] = field(default_factory=dict)
    """By frame: patch, centre px and radius px of the full-size frame, roll in radians."""

    def slip(self, index: int) -> tuple[Floats, float]:
        """(what to add to where the head takes the centre, its standard error), px of the working size.

        Between two placed frames it goes evenly from the one's to the other's, and is least sure halfway; beyond the last it stays, and grows as
        unsure as it was there.
        """
        if not self.slips:
            return np.zeros(2), 0.0
        placed = np.array(sorted(self.slips))
        moved = np.array([self.slips[int(i)] for i in placed])
        at = np.array([np.interp(index, placed, moved[:, k]) for k in (0, 1)])
        if len(placed) < 2:
            return at, 0.0
        right = int(np.clip(np.searchsorted(placed, index), 1, len(placed) - 1))
        # What a guessed depth of the ball explains stands in its own error already.
        change = float(np.sqrt(max(np.sum((moved[right] - moved[right - 1]) ** 2) - (SUNK_ERROR * self.radius) ** 2, 0.0)))
        share = float(index - placed[right - 1]) / float(placed[right] - placed[right - 1])
        beyond = max(-share, share - 1, 0.0)
        return at, change * (np.sqrt(share * (1 - share)) if beyond == 0 else 0.5 * min(beyond, 1.0))


def plan_eye(side: str, tracks: Mapping[str, MarkTrack], steady: Steady, size: tuple[int, int]) -> EyePlan | None:
    """The eye from its marks on the reference frame; None without centre and edge there. size : working size, px."""
    index = steady.face.index
    centre, edge, iris = (tracks.get(n) for n in (f"eye_{side}", f"eye_{side}_edge", f"iris_{side}"))
    if centre is None or edge is None or not (np.isfinite(centre.xy[index]).all() and np.isfinite(edge.xy[index]).all()):
        return None
    at = spot(centre, index, size)
    move = steady.moves[index]
    camera = np.array([[move.focal, 0, move.centre[0]], [0, move.focal, move.centre[1]], [0, 0, 1]])
    ray, rim = ray_of(at, camera), ray_of(spot(edge, index, size), camera)
    # Back to px across the ray, where a sphere's outline is not stretched.
    radius = np.tan(np.radians(float(angle_between(ray, rim)))) * move.focal / ray[2]
    seen = spot(iris, index, size) if iris is not None and index in iris.placed else None
    plan = EyePlan(side, at, float(radius), steady.skin_depth(at) + SUNK * float(radius), seen)
    placed = (i for i in centre.placed if i in steady.moves and np.isfinite(centre.xy[i]).all())
    plan.slips = {index: np.zeros(2), **{i: spot(centre, i, size) - steady.moves[i].at(at, plan.depth) for i in placed if i != index}}
    return plan


def take_patch(luma: Luma, steady: Steady, index: int, plan: EyePlan, scale: float) -> None:
    """Cut the eye out of frame `index` (full-size luma, `scale` times the working size) into plan.patches, if the head is in sight."""
    move = steady.moves.get(index)
    if move is None:
        return
    centre = (move.at(plan.centre, plan.depth) + plan.slip(index)[0] + 0.5) * scale - 0.5
    here = move.solid(plan.centre, plan.depth)[2]
    radius = plan.radius * scale * (move.focal + plan.depth) / float(here)
    if radius < SMALLEST or not np.isfinite(centre).all():
        return
    roll = float(np.arctan2(move.turn[1, 0], move.turn[0, 0]))
    turn = np.array([[np.cos(roll), -np.sin(roll)], [np.sin(roll), np.cos(roll)]])
    where = (np.column_stack([GRID_X, GRID_Y]) * radius) @ turn.T + centre
    where = where.reshape(SIDE, SIDE, 2).astype(np.float32)
    coarse = radius * 2.6 / SIDE
    source = (
        cv2.GaussianBlur(_around(luma, centre, radius, where), (0, 0), 0.4 * coarse)
        if coarse > 1.5
        else _around(luma, centre, radius, where)
    )
    patch = cv2.remap(source, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    plan.patches[index] = (np.asarray(patch, dtype=np.float32), centre, radius, roll)


def _around(luma: Luma, centre: Floats, radius: float, where: npt.NDArray[np.float32]) -> Luma:
    """The part of `luma` under the patch; `where` is moved into it in place."""
    reach = 2.0 * radius + 4
    left, top = (int(max(0, v - reach)) for v in centre)
    left, top = min(left, luma.shape[1] - 1), min(top, luma.shape[0] - 1)
    right, bottom = (int(max(1, v + reach)) for v in centre)
    where -= np.array([left, top], np.float32)
    return np.ascontiguousarray(luma[top : max(bottom, top + 1), left : max(right, left + 1)])


def teach_eye(plan: EyePlan, index: int, scale: float) -> None:
    """Learn the eye's look from its reference frame."""
    if index not in plan.patches:
        return
    patch, centre, radius, roll = plan.patches[index]
    at = _dark_disc(patch)
    if plan.iris is not None:
        turn = np.array([[np.cos(roll), np.sin(roll)], [-np.sin(roll), np.cos(roll)]])
        at = turn @ ((plan.iris + 0.5) * scale - 0.5 - centre) / radius
    look = learn_look(patch, direction_at(float(at[0]), float(at[1])))
    direction, _, _ = IrisFinder(look).find(patch, 1.0) if plan.iris is None else (direction_at(float(at[0]), float(at[1])), 0, 0)
    look = learn_look(patch, direction)
    upper, lower = slit(patch, look, direction, 1.0)
    plan.look = EyeLook(look.rings, look.iris, look.lid_upper, look.lid_lower, lower - upper)


def _dark_disc(patch: npt.NDArray[np.float32]) -> Floats:
    """Middle of the dark within half a radius of the ball's centre, unit disc: where a straight look has its iris."""
    grey = patch.ravel()
    near = GRID_X**2 + GRID_Y**2 < 0.5**2
    dark = near & (grey <= np.quantile(grey[near], 0.35))
    return np.array([GRID_X[dark].mean(), GRID_Y[dark].mean()])


def read_eye(
    plan: EyePlan, steady: Steady, frames: int, size: tuple[int, int], camera: Floats, lens_error: float
) -> tuple[Gaze, npt.NDArray[np.float32]]:
    """(gaze, lids' opening) of one eye from its patches.

    size : full-size frame, px; camera : its matrix; lens_error : relative standard error of its focal length
    """
    origin, iris = np.full((frames, 2), np.nan), np.full((frames, 2), np.nan)
    direction, error, lids = np.full((frames, 3), np.nan), np.full(frames, np.nan), np.full(frames, np.nan)
    assert plan.look is not None
    finder = IrisFinder(plan.look)
    middle = (plan.look.lid_upper + plan.look.lid_lower) / 2
    for index, (patch, centre, radius, roll) in plan.patches.items():
        origin[index] = centre
        grey = patch.ravel().astype(np.float64)
        gain = float(np.clip((ring_of_skin(grey, -1) + ring_of_skin(grey, 1)) / 2 / max(middle, 8.0), 0.4, 2.5))
        local, unsure, seen = finder.find(patch, gain)
        upper, lower = slit(patch, plan.look, local, gain, seen)
        lids[index] = (lower - upper) / max(plan.look.opening, 0.1)
        if seen < HIDDEN or lids[index] < NARROW or not np.isfinite(unsure):
            continue
        turn = np.array([[np.cos(roll), -np.sin(roll)], [np.sin(roll), np.cos(roll)]])
        iris[index] = centre + radius * turn @ local[:2]
        eye = eyeball_at(centre, radius, camera)
        error[index] = np.degrees(_error(steady, index, plan, unsure, local, eye.ray, lens_error))
        if error[index] <= WORST:
            direction[index] = look_at_pixel(eye, iris[index], camera)
    fractions = [((v + 0.5) / size).astype(np.float32) for v in (origin, iris)]
    gaze = Gaze(
        fractions[0],
        direction.astype(np.float32),
        error.astype(np.float32),
        fractions[1],
        float(plan.radius * size[0] / _width(steady, size)),
    )
    return gaze, lids.astype(np.float32)


def _width(steady: Steady, size: tuple[int, int]) -> float:
    """Width of the working size, px: the camera's centre lies in its middle."""
    move = next(iter(steady.moves.values()))
    return float(min(size[0], 2 * move.centre[0] + 1))


def _error(steady: Steady, index: int, plan: EyePlan, unsure: float, local: Floats, ray: Floats, lens_error: float) -> float:
    """Standard error of a gaze, radians: of the iris in its pixels, of the ball as placed, of its depth when the head has turned, and of the lens."""
    move = steady.moves[index]
    flat = max(0.3, abs(float(local[2])))
    turned = np.hypot(move.turn[0, 2], move.turn[1, 2])
    ball = np.hypot(PLACED, SUNK_ERROR * turned) / flat
    radius = 1.5 * PLACED * np.hypot(local[0], local[1]) / flat
    off_axis = np.arccos(np.clip(ray[2], -1, 1)) * lens_error
    following = np.hypot(move.error, plan.slip(index)[1]) / plan.radius / flat
    return float(np.sqrt(unsure**2 + ball**2 + radius**2 + off_axis**2 + following**2))
