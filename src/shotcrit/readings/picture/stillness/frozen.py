"""A character that stands dead still in a picture that moves on: found from its own region, the camera's movement taken out.

A region is a patch of neighbouring cells with a life of its own: they move against the set on a good part of the shot's frames. What never moves of
itself is the set, and is asked nothing.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span, runs
from shotcrit.readings.picture.stillness.grid import COLUMNS, LINES, Cells, Movements, set_movement, sureness
from shotcrit.readings.seen import Box, FrozenRegion, LiveRegion

Flags = npt.NDArray[np.bool_]

SURE, LEAST_MOVE = 4.0, 0.06
"""standard errors, and px of the small picture (0.24 px of 1920), that a cell must move against the set to be alive (guess)."""
NOISE_TIMES = 5.0
"""times the picture's usual cell that a cell must move: the noise of codec and of laying pictures over each other, estimated on the spot (guess)."""
CALM, CALM_TIMES = 0.25, 1.55
"""Share of the cells that are taken for set even where characters fill half of the picture, and what makes the quantile at it a median: noise in two
directions has a Rayleigh distribution, whose median is 1.55 times its lower quartile."""
KNOWN = 0.2
"""px of the small picture, standard error above which a cell's shift says nothing (guess)."""
PEAK_LEAST, PEAK_LAID, PEAK_TIMES = 6.0, 14.0, 4.0
"""luma steps, the same where pictures were laid over each other (hard edges leave up to 9 there), and times the picture's median cell: a block changing
more is alive too (guess; above key frames' pulse)."""
OFTEN = 0.25
"""Part of a shot's frames on which a cell of a character is alive (guess: a hand that crosses the set is there for less)."""
MOSTLY = 0.45
"""The same for LEAST_CELLS of the patch's cells: its heart (guess)."""
LEAST_CELLS = 2
STILL_SHARE = 0.15
"""of the cells that usually move: up to so many may seem to, through noise, while the region stands still (guess)."""
LEAST_FROZEN = 2
"""frames; shorter stops are not listed."""
STEP_FRAMES, STEP_FIT = 12, 0.8
"""frames a rhythm needs, and part of them that must fit it (guess)."""
DRIFT, DRIFT_TIMES = 0.4, 2.5
"""px of the small picture (1 px of 1280) that cells must travel over a whole stop to drift, and times the lower quartile of what all cells do: a drift
adds up where each step of it drowns in noise (guess)."""
CAMERA_STANDS = 0.3
"""px of the small picture that the set may travel over a stop for the camera to stand. Where it moves, a frozen figure at another depth drifts
against the set, but as one; then only cells that leave the figure's own movement count (guess)."""
NEAR, LEAST_NEAR = 6, 3
"""frames before and after a stop, and how many of them the region must move on: a figure that walks in or out, or a picture that settles, does not (guess)."""
LEAST_FIGURE, MOST_FIGURE = 8, 72
"""cells of a patch that can be a figure: 6 to 50 in a hundred of the picture (guess: smaller ones were needles and captions, larger ones the picture)."""
FAST_SET = 2.0
"""px of the small picture a frame that the set may move: what stands in a faster pan cannot be told from what is pulled along (guess)."""
STANDING_PEAK, MOVING_PEAK = 1.0, 4.0
"""luma steps: the patch's mean peak over a stop, at the most, where the camera stands and where pictures were laid over each other. Figures made to freeze
have 0.3 and 3.0; strangers' figures that were called frozen had 2.9 and 19 to 74."""


@dataclass(frozen=True)
class Region:
    """alive : bool [shape=(n,)], False outside of its shot; patch : bool [shape=(9, 16)] its cells."""

    box: Box
    patch: Flags
    alive: Flags
    shot: Span

    def seen(self, repeats: Flags) -> LiveRegion:
        """What checks get to see of it. repeats : of the whole picture"""
        return LiveRegion(self.shot, self.box, self.step(repeats), float(self.alive[self.shot.start : self.shot.stop].mean()))

    def step(self, repeats: Flags) -> int:
        """On how many frames each of its poses stands: 1 ones, 2 twos, 3 threes; 0 where no such rhythm is clear.

        Only frames on which the picture as a whole moves can tell.
        """
        first, stop = self.shot.start, self.shot.stop
        moves, rest = self.alive[first + 1 : stop], ~repeats[first + 1 : stop]
        if rest.sum() < STEP_FRAMES:
            return 0
        if moves[rest].mean() > STEP_FIT:
            return 1
        for step in (2, 3):
            for phase in range(step):
                due = (np.arange(len(moves)) + phase) % step == 0
                hits, others = moves[rest & due], moves[rest & ~due]
                if len(hits) and len(others) and hits.mean() > STEP_FIT and others.mean() < 1 - STEP_FIT:
                    return step
        return 0


def alive_cells(cells: Movements) -> Flags:
    """bool [shape=(n, 9, 16)]: the cell moves or changes of itself."""
    return np.concatenate([np.zeros((0, LINES, COLUMNS), np.bool_), *map(_alive, cells.parts())])


def _alive(cells: Cells) -> Flags:
    own = cells.own()
    far, sure = np.linalg.norm(own, axis=-1), sureness(own, cells.certainty)
    known = np.where((cells.certainty[..., 0] + cells.certainty[..., 2]) > 1 / KNOWN**2, far, np.nan)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a frame whose cells are all flat has no median
        noise = CALM_TIMES * np.nan_to_num(np.nanquantile(known.reshape(len(known), -1), CALM, axis=1))[:, None, None]
    moves = (sure > SURE) & (far > np.maximum(LEAST_MOVE, NOISE_TIMES * noise)) & np.isfinite(known)
    usual = np.median(cells.peak.reshape(len(cells), -1), axis=1)[:, None, None]
    edge = np.zeros((LINES, COLUMNS), np.bool_)
    edge[[0, -1]], edge[:, [0, -1]] = True, True
    changes = cells.peak > np.maximum(np.where(cells.warped, PEAK_LAID, PEAK_LEAST)[:, None, None], PEAK_TIMES * usual)
    return np.asarray((moves | changes) & ~(edge & cells.warped[:, None, None]), np.bool_)


def regions(cells: Movements, shots: Sequence[Span]) -> list[Region]:
    """The patches with a life of their own, shot by shot."""
    alive = alive_cells(cells)
    found = []
    for shot in shots:
        first, stop = shot.start, shot.stop
        own = alive[first + 1 : stop]
        if not len(own):
            continue
        share = own.mean(axis=0)
        count, labels = cv2.connectedComponents((share >= OFTEN).astype(np.uint8), connectivity=8)
        for label in range(1, count):
            patch = labels == label
            if (share[patch] >= MOSTLY).sum() < LEAST_CELLS:
                continue
            busy = own[:, patch].sum(axis=1)
            usual = float(np.median(busy[busy > 0]))
            lives = np.zeros(len(alive), np.bool_)
            lives[first + 1 : stop] = busy > STILL_SHARE * usual
            found.append(Region(_box(patch), patch, lives, shot))
    return found


def find_frozen(cells: Movements, found_regions: list[Region], repeats: Flags, acted: Flags) -> list[FrozenRegion]:
    """Stops of a region while the rest of the picture moves. Frames on which the whole picture repeats, or nobody acts, are not among them."""
    found = []
    for region in found_regions:
        if not LEAST_FIGURE <= region.patch.sum() <= MOST_FIGURE:
            continue
        dead = ~region.alive
        dead[: region.shot.start + 1], dead[region.shot.stop :] = False, False
        for run in runs(dead):
            told = len(run) >= LEAST_FROZEN and acted[run.start : run.stop].all() and repeats[run.start : run.stop].mean() <= 0.5
            if told and _stops_and_goes(region, run) and _stands(cells.part(run.start, run.stop), region.patch):
                found.append(FrozenRegion(run, region.box))
    return found


def _stops_and_goes(region: Region, stop: Span) -> bool:
    """Whether the region moves before the stop and after it, as far as the shot goes."""
    before = region.alive[max(region.shot.start + 1, stop.start - NEAR) : stop.start]
    after = region.alive[stop.stop : min(region.shot.stop, stop.stop + NEAR)]
    sides = [side for side, known in ((before, stop.start > region.shot.start + 1), (after, stop.stop < region.shot.stop)) if known]
    return bool(sides) and all(side.sum() >= LEAST_NEAR for side in sides)


def _stands(stop: Cells, patch: Flags) -> bool:
    """Whether the patch stands to the pixel over a stop, and the camera is slow enough to tell. stop : the frames of it, and no others"""
    of_set = np.linalg.norm(set_movement(stop.camera + stop.left, stop.size), axis=-1).mean(axis=(1, 2))
    most = MOVING_PEAK if stop.warped.any() else STANDING_PEAK
    return bool(of_set.max() < FAST_SET and stop.peak[:, patch].mean() < most and not drifts(stop, patch))


def drifts(stop: Cells, patch: Flags) -> bool:
    """Whether cells of a patch travel over a stop, each frame's step too small to be told by itself. stop : the frames of it, and no others"""
    certainty = stop.certainty
    known = (certainty[..., 0] + certainty[..., 2] > 1 / KNOWN**2).all(axis=0)
    if not (known & patch).any():
        return False
    travel = stop.own().sum(axis=0)
    of_set = float(np.linalg.norm(set_movement((stop.camera + stop.left).sum(axis=0)[None], stop.size[:1]), axis=-1).max())
    far = float(np.quantile(np.linalg.norm(travel, axis=-1)[known], CALM))
    if of_set > CAMERA_STANDS:
        travel = travel - np.median(travel[known & patch], axis=0)
    moved = np.linalg.norm(travel, axis=-1)[known & patch] > max(DRIFT, DRIFT_TIMES * far, of_set if of_set > CAMERA_STANDS else 0.0)
    return bool(moved.sum() >= max(LEAST_CELLS, STILL_SHARE * patch.sum()))


def _box(patch: Flags) -> Box:
    lines, columns = np.flatnonzero(patch.any(axis=1)), np.flatnonzero(patch.any(axis=0))
    return Box(float(columns[0] / COLUMNS), float(lines[0] / LINES), float((columns[-1] + 1) / COLUMNS), float((lines[-1] + 1) / LINES))
