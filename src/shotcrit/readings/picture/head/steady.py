"""Steadying a head: how it moved since its reference frame, from the texture of the face without eyes and mouth.

Each frame is laid onto a key by the last known movement, and what is left is measured there, against the key itself. The first key is the reference
frame, which never drifts; where the head turns too far for it, further keys are cut on the way (steady_key.py). The movement is that of a rigid thing
before a camera; how deep its features lie starts from an ellipsoid and is refined from the tracks themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.geometry.eyeball import assumed_camera
from shotcrit.readings.picture.head.depth import solve_depths
from shotcrit.readings.picture.head.face import Face
from shotcrit.readings.picture.head.fit import Movement, fit, still
from shotcrit.readings.picture.head.key import COARSE, FEWEST, Key, cut_key, even, laid
from shotcrit.readings.picture.marks.frames import FrameStore

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Picture = npt.NDArray[np.uint8]

FLOW: dict[str, Any] = {"winSize": (17, 17), "maxLevel": 3, "criteria": (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 20, 0.02)}
GROSS = 4.0
"""px; a feature that moved so much unlike its neighbours is on something else (guess)."""
RETURN = 0.5
"""px; largest forward-backward error of a feature that counts (checks.md, 'Marks')."""
SUNK = 0.5
"""How far an eyeball's centre lies behind the skin around it, in its radii (guess; drawn heads lie between 0.4 and 1)."""
SHARE = 0.25
"""Of the features: fewer than this, and the head is out of sight (guess)."""
GOOD = 0.5
"""Of the features: with fewer, a further key is cut, as long as the head is in sight (guess)."""
ENOUGH = 0.35
"""Of the reference's features: with more, it is believed rather than a nearer key, since it never drifts (guess)."""
TURNED = np.radians(30.0)
"""A head that turned further than this from the reference is not laid against it any more (guess)."""
MOST_KEYS = 24
"""Keys a shot; a head that needs more is not being followed."""
ROUGH = 3
"""Steps of fitting what is only a start."""
ROUNDS = 3
"""Laying a frame onto a key and measuring what is left, at most."""


@dataclass
class Steady:
    """A head's movement over a shot, from px of its reference frame to px of frame t (working size).

    moves : by frame index; a frame on which the head was out of sight is not in it
    spots, depth : float64 [shape=(k, 2)], [shape=(k,)] the features on the reference frame, px, and how far behind the face's plane they lie
    relief : how much deeper the face is than the ellipsoid that its depths started from
    """

    face: Face
    moves: dict[int, Movement]
    spots: Floats
    depth: Floats
    relief: float = 1.0

    def carry(self, index: int, spots: Floats, depth: Floats | float = 0.0) -> Floats:
        """Reference px `spots` [shape=(..., 2)] at `depth` px, on frame `index`; nan where the head was out of sight."""
        if index not in self.moves:
            return np.full(np.shape(spots), np.nan)
        return self.moves[index].at(spots, depth)

    def skin_depth(self, spot: Floats) -> float:
        """Depth, px, of the skin around reference px `spot` [shape=(2,)]: the ellipsoid's, corrected by the features near it."""
        near = np.exp(-0.5 * (np.linalg.norm(self.spots - spot, axis=1) / (0.15 * self.face.height)) ** 2)
        offset = float((near * (self.depth - self.relief * self.face.depth(self.spots))).sum() / (near.sum() + 1.0))
        return self.relief * float(self.face.depth(spot[None])[0]) + offset

    def affine(self, index: int, spot: Floats, depth: float) -> Floats:
        """The affine map [shape=(2, 3)] that comes nearest to the movement around reference px `spot` at `depth`."""
        reach = 0.05 * self.face.height
        ends = self.carry(index, spot + reach * np.array([[0.0, 0], [1, 0], [-1, 0], [0, 1], [0, -1]]), depth)
        matrix = np.column_stack([(ends[1] - ends[2]) / (2 * reach), (ends[3] - ends[4]) / (2 * reach)])
        return np.hstack([matrix, (ends[0] - matrix @ spot)[:, None]])


@dataclass
class _Sight:
    """What one frame showed: its movement, which key it was laid against, where the key's features lie (px), which are to be believed."""

    move: Movement
    key: int
    spots: Floats
    there: Bools

    @property
    def share(self) -> float:
        return float(self.there.mean())


@dataclass
class _Search:
    """Following one head through one shot. sights : by frame index"""

    store: FrameStore
    face: Face
    keys: list[Key]
    step: Callable[[], None]
    sights: dict[int, _Sight] = field(default_factory=dict)

    def follow(self, order: range, start: Movement) -> None:
        """All frames of `order`, one after the other, from the movement just before it."""
        last, before = start, order.start - order.step
        for index in order:
            self.step()
            sight = self._seen(index, last, before)
            if sight is None:
                continue
            self.sights[index] = sight
            last, before = sight.move, index
            if sight.share < GOOD and len(self.keys) < MOST_KEYS:
                fresh = cut_key(self.store[index], index, self.face, last, self.store.size)
                if fresh is not None:
                    self.keys.append(fresh)

    def _seen(self, index: int, last: Movement, before: int) -> _Sight | None:
        picture = self.store[index]
        nearest = _nearest(self.keys, last)
        carried = _carried(self.store[before], picture, self.keys[nearest], last) if abs(index - before) == 1 else None
        for start in (s for s in (carried, last) if s is not None):
            near = _nearest(self.keys, start)
            # The reference never drifts: as long as it is not much worse than a nearer key, it is asked.
            tried = [0, near] if _turn_between(self.keys[0].move, start) < TURNED else [near]
            for which in dict.fromkeys(tried):
                found = _measure(picture, self.keys[which], start)
                if found is not None and (which == near or found[2].mean() >= ENOUGH):
                    return _Sight(found[0], which, found[1], found[2])
        return None


def steady_head(
    store: FrameStore, face: Face, shot: Span, camera: Floats | None = None, *, step: Callable[[], None] = lambda: None
) -> Steady | None:
    """Follow the head through `shot`, both ways from its reference frame; None where the face has too little texture.

    camera : matrix [shape=(3, 3)] in px of the working size; without it a usual lens is assumed
    step : called for each frame; what it raises ends the work
    """
    lens = assumed_camera(store.size) if camera is None else camera
    start = still(face.middle, float(lens[0, 0] + lens[1, 1]) / 2, lens[:2, 2])
    key = cut_key(store[face.index], face.index, face, start, store.size)
    if key is None:
        return None
    search = _Search(store, face, [key], step)
    search.follow(range(face.index + 1, shot.stop), start)
    search.follow(range(face.index - 1, shot.start - 1, -1), start)
    return _refined(search, start)


def _refined(search: _Search, start: Movement) -> Steady:
    """Depths from the most turned frames that the reference itself saw, then all movements anew with them."""
    key, sights = search.keys[0], search.sights
    moves = {search.face.index: start, **{i: s.move for i, s in sights.items()}}
    depth = solve_depths(key.spots, key.depth, moves, {i: (s.spots, s.there) for i, s in sights.items() if s.key == 0})
    depths = [depth, *(k.depth for k in search.keys[1:])]
    for index, sight in sights.items():
        own = search.keys[sight.key]
        there = sight.there
        moves[index] = fit(own.spots[there], sight.spots[there], depths[sight.key][there], sight.move) or sight.move
    away = key.depth - key.depth.mean()
    deeper = float(np.clip((away * (depth - depth.mean())).sum() / max(float((away**2).sum()), 1e-6), 0.5, 2.0))
    return Steady(search.face, moves, key.spots, depth, deeper)


def _turn_between(a: Movement, b: Movement) -> float:
    """Angle between two movements' turns, radians."""
    return float(np.arccos(np.clip((np.trace(a.turn.T @ b.turn) - 1) / 2, -1, 1)))


def _nearest(keys: list[Key], move: Movement) -> int:
    """The key whose head is turned most like `move`'s."""
    return int(np.argmin([_turn_between(key.move, move) for key in keys]))


def _carried(before: Picture, after: Picture, key: Key, last: Movement) -> Movement | None:
    """The movement carried on by plain flow of the key's features from frame to frame: a start that survives a quick turn."""
    old = last.seen(key.lifted)
    high, wide = before.shape
    reach = np.array([24.0, 24.0]) + 0.3 * (old.max(0) - old.min(0))
    left, top = (int(np.clip(v, 0, limit)) for v, limit in zip(old.min(0) - reach, (wide, high), strict=True))
    right, bottom = (int(np.clip(v, 0, limit)) for v, limit in zip(old.max(0) + reach, (wide, high), strict=True))
    if right - left < 32 or bottom - top < 32:
        return None
    a, b = (np.ascontiguousarray(p[top:bottom, left:right]) for p in (before, after))
    there, miss = _flow(a, b, (old - (left, top)).astype(np.float32))
    good = miss < RETURN
    if good.sum() < 2 * FEWEST:
        return None
    return fit(key.spots[good], there[good] + (left, top), key.depth[good], last, steps=ROUGH)


def _flow(before: Picture, after: Picture, spots: npt.NDArray[np.float32]) -> tuple[Floats, Floats]:
    """Where `spots` went, and how far they come back off, px; inf where flow gave up."""
    start = spots.reshape(-1, 1, 2)
    there, ok, _ = cv2.calcOpticalFlowPyrLK(before, after, start, None, **FLOW)
    back, ok_back, _ = cv2.calcOpticalFlowPyrLK(after, before, there, None, **FLOW)
    miss = np.linalg.norm((back - start).reshape(-1, 2), axis=1).astype(np.float64)
    miss[(ok.ravel() == 0) | (ok_back.ravel() == 0)] = np.inf
    return there.reshape(-1, 2).astype(np.float64), miss


def _measure(picture: Picture, key: Key, start: Movement) -> tuple[Movement, Floats, Bools] | None:
    """The movement of one frame, from a start, and where the key's features lie; None where the face is not seen."""
    move = start
    for _ in range(ROUNDS):
        spots, seen = _left_over(picture, key, move)
        if seen.sum() < max(FEWEST, SHARE * len(key.spots)):
            return None
        found = fit(key.spots[seen], spots[seen], key.depth[seen], move)
        if found is None:
            return None
        moved = np.abs(found.seen(key.lifted) - move.seen(key.lifted)).max()
        move = found
        if moved < 1.0:
            break
    return move, spots, seen


def _left_over(picture: Picture, key: Key, move: Movement) -> tuple[Floats, Bools]:
    """Where the key's features lie in `picture`, px [shape=(n, 2)], and which of them are to be believed."""
    start = (key.seen - key.corner).astype(np.float32)
    there, miss = _flow(key.crop, even(laid(picture, key, move)), start)
    seen = miss < RETURN
    left = there - start
    if seen.any():
        apart = np.linalg.norm(left - np.median(left[seen], axis=0), axis=1)
        seen &= apart < GROSS + 3 * np.median(apart[seen])
    return _from_crop(key, move, there), seen


def _from_crop(key: Key, move: Movement, there: Floats) -> Floats:
    """Px of the frame under px of the crop, [shape=(n, 2)]: the same map that laid the frame onto it."""
    spots = cv2.remap(key.grid.astype(np.float32), *_nodes(there), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    relief = cv2.remap(key.relief.astype(np.float32), *_nodes(there), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return move.at(spots.reshape(-1, 2).astype(np.float64), relief.ravel().astype(np.float64))


def _nodes(there: Floats) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    at = (there / COARSE).astype(np.float32)
    return at[:, :1], at[:, 1:]
