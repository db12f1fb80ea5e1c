"""Steadying a head: how it moved since its reference frame, from the texture of the face without eyes and mouth.

Each frame is laid onto the reference frame by the last known movement, and what is left is measured there, against the reference itself, so
nothing drifts. The movement is that of a rigid thing before a camera; how deep its features lie starts from an ellipsoid and is refined from
the tracks themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.clock import Span
from shotcrit.geometry.eyeball import assumed_camera
from shotcrit.readings.picture.mark_frames import FrameStore
from shotcrit.readings.picture.steady_depth import solve_depths
from shotcrit.readings.picture.steady_face import Face
from shotcrit.readings.picture.steady_fit import Movement, fit, still

Floats = npt.NDArray[np.float64]
Picture = npt.NDArray[np.uint8]

FEATURES = 150
FLOW: dict[str, Any] = {"winSize": (17, 17), "maxLevel": 3, "criteria": (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 20, 0.02)}
GROSS = 4.0
"""px; a feature that moved so much unlike its neighbours is on something else (guess)."""
RETURN = 0.5
"""px; largest forward-backward error of a feature that counts (checks.md, 'Marks')."""
FEWEST = 8
"""Features that a movement of eight numbers needs, twice over."""
SUNK = 0.5
"""How far an eyeball's centre lies behind the skin around it, in its radii (guess; drawn heads lie between 0.4 and 1)."""
SHARE = 0.25
"""Of the features: fewer than this, and the head is out of sight (guess)."""
FLAT = 12.0
"""px; reach of the local contrast normalisation, larger than a feature, smaller than the face's light (guess)."""
COARSE = 4
"""px between the places where the map from reference to frame is reckoned."""
ROUNDS = 3
"""Laying a frame onto the reference and measuring what is left, at most."""


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
class _Key:
    """What frames are laid against: an evened crop of the reference, its features, and where each of its pixels is in space (px)."""

    crop: Picture
    corner: tuple[int, int]
    spots: Floats
    depth: Floats
    relief: Floats
    grid: Floats


def steady_head(store: FrameStore, face: Face, shot: Span, camera: Floats | None = None) -> Steady | None:
    """Follow the head through `shot`, both ways from its reference frame; None where the face has too little texture.

    camera : matrix [shape=(3, 3)] in px of the working size; without it a usual lens is assumed
    """
    key = _key(store, face)
    if key is None:
        return None
    lens = assumed_camera(store.size) if camera is None else camera
    start = still(face.middle, float(lens[0, 0] + lens[1, 1]) / 2, lens[:2, 2])
    moves: dict[int, Movement] = {face.index: start}
    seen: dict[int, tuple[Floats, npt.NDArray[np.bool_]]] = {}
    for order in (range(face.index + 1, shot.stop), range(face.index - 1, shot.start - 1, -1)):
        last, speed = start, np.zeros(2)
        for index in order:
            found = _measure(store[index], key, last.shifted(speed)) or _measure(store[index], key, last)
            if found is None:
                speed = np.zeros(2)
                continue
            moves[index], seen[index] = found
            speed = moves[index].at(face.middle) - last.at(face.middle)
            last = moves[index]
    return _refined(key, face, moves, seen)


def _refined(key: _Key, face: Face, moves: dict[int, Movement], seen: dict[int, tuple[Floats, npt.NDArray[np.bool_]]]) -> Steady:
    """Depths from the most turned frames, then all movements anew with them."""
    depth = solve_depths(key.spots, key.depth, moves, seen)
    for index, (spots, there) in seen.items():
        moves[index] = fit(key.spots[there], spots[there], depth[there], moves[index]) or moves[index]
    away = key.depth - key.depth.mean()
    deeper = float(np.clip((away * (depth - depth.mean())).sum() / max(float((away**2).sum()), 1e-6), 0.5, 2.0))
    return Steady(face, moves, key.spots, depth, deeper)


def _key(store: FrameStore, face: Face) -> _Key | None:
    picture = store[face.index]
    left, top, right, bottom = face.box(store.size)
    if right - left < 16 or bottom - top < 16:
        return None
    crop = even(picture[top:bottom, left:right])
    mask = face.mask(picture.shape)[top:bottom, left:right]
    found = cv2.goodFeaturesToTrack(crop, FEATURES, 0.02, max(3.0, face.height / 50), mask=mask, blockSize=5)
    if found is None or len(found) < 2 * FEWEST:
        return None
    spots = found.reshape(-1, 2).astype(np.float64) + np.array([left, top])
    # The map is smooth: it is reckoned on every COARSE-th pixel, one beyond the crop, and filled in between.
    rows, columns = np.mgrid[top : bottom + COARSE : COARSE, left : right + COARSE : COARSE]
    grid = np.stack([columns, rows], axis=-1).astype(np.float64)
    relief = face.depth(grid.reshape(-1, 2)).reshape(rows.shape)
    return _Key(crop, (left, top), spots, face.depth(spots), relief, grid)


def even(picture: Picture) -> Picture:
    """The picture without its slow light: locally of mean 128 and like contrast, so that flow does not take shading for movement."""
    grey = picture.astype(np.float32)
    mean = cv2.GaussianBlur(grey, (0, 0), FLAT)
    bare = cv2.GaussianBlur(grey, (0, 0), 0.7) - mean
    spread = np.sqrt(cv2.GaussianBlur(bare * bare, (0, 0), FLAT)) + 4.0
    return np.asarray(np.clip(128 + 50 * bare / spread, 0, 255), dtype=np.uint8)


def _measure(picture: Picture, key: _Key, start: Movement) -> tuple[Movement, tuple[Floats, npt.NDArray[np.bool_]]] | None:
    """The movement of one frame, from a start, and where its features lie; None where the face is not seen."""
    move = start
    for _ in range(ROUNDS):
        spots, seen = _left_over(picture, key, move)
        if seen.sum() < max(FEWEST, SHARE * len(key.spots)):
            return None
        found = fit(key.spots[seen], spots[seen], key.depth[seen], move)
        if found is None:
            return None
        moved = np.abs(found.at(key.spots, key.depth) - move.at(key.spots, key.depth)).max()
        move = found
        if moved < 1.0:
            break
    return move, (spots, seen)


def _left_over(picture: Picture, key: _Key, move: Movement) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Where the key's features lie in `picture`, px [shape=(n, 2)], and which of them are to be believed."""
    laid = even(_laid(picture, key, move))
    start = (key.spots - key.corner).astype(np.float32).reshape(-1, 1, 2)
    there, ok, _ = cv2.calcOpticalFlowPyrLK(key.crop, laid, start, None, **FLOW)
    back, ok_back, _ = cv2.calcOpticalFlowPyrLK(laid, key.crop, there, None, **FLOW)
    miss = np.linalg.norm((back - start).reshape(-1, 2), axis=1)
    seen = (miss < RETURN) & (ok.ravel() > 0) & (ok_back.ravel() > 0)
    left = (there - start).reshape(-1, 2).astype(np.float64)
    if seen.any():
        apart = np.linalg.norm(left - np.median(left[seen], axis=0), axis=1)
        seen &= apart < GROSS + 3 * np.median(apart[seen])
    # What is left over was measured on the reference frame; take it along to where the movement puts the feature.
    spots = key.spots + left
    return move.at(spots, key.depth), seen


def _laid(picture: Picture, key: _Key, move: Movement) -> Picture:
    """The frame as it looks on the reference: each pixel of the crop fetched from where the movement takes it."""
    where = _finer(move.at(key.grid, key.relief).astype(np.float32), key.crop.shape)
    laid = cv2.remap(picture, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(laid, dtype=np.uint8)


def _finer(coarse: npt.NDArray[np.float32], shape: tuple[int, ...]) -> npt.NDArray[np.float32]:
    """A map known on every COARSE-th pixel, on every pixel of `shape`."""
    matrix = np.array([[COARSE, 0, 0], [0, COARSE, 0]], np.float64)
    return np.asarray(
        cv2.warpAffine(coarse, matrix, (shape[1], shape[0]), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float32
    )
