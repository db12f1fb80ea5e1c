"""What frames of a head are laid against: an evened crop of one frame, its features, and where each of its pixels lies on the reference frame.

The first key is the reference frame itself. Where the head turned too far for it, a further key is cut from a frame whose movement is known: each of its
pixels is carried back to the reference along its ray, to where that meets the face's surface, so that all keys speak of one and the same head.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.picture.head.face import Face
from shotcrit.readings.picture.head.fit import Movement, lift

Floats = npt.NDArray[np.float64]
Picture = npt.NDArray[np.uint8]

FEATURES = 150
QUALITY = 0.005
"""Of the strongest corner: hair and brows are strong, freckles weak, and it is freckles that ride on the face (guess)."""
FEWEST = 8
"""Features that a movement of eight numbers needs, twice over."""
MEAN = 25
"""px of a running mean; three of them reach 12.5 px (standard deviation), larger than a feature, smaller than the face's light (guess)."""
COARSE = 4
"""px between the places where the map from reference to frame is reckoned."""
BACK = 6
"""Steps of carrying a pixel back to the reference; the surface is smooth, four do."""
SLOPE = 2.5
"""A key's pixel that covers more than this of the reference each way is seen too edge-on to be laid against (guess)."""


@dataclass
class Key:
    """index, move : its frame and movement; crop : evened, its corner at px `corner` of the frame; seen : px of its features on its own frame
    spots, depth : reference px and depth of its features; grid, relief : reference px and depth of every COARSE-th pixel of the crop
    lifted, lifted_grid : both as points in space, px [shape=(..., 3)]
    """

    index: int
    move: Movement
    crop: Picture
    corner: tuple[int, int]
    seen: Floats
    spots: Floats
    depth: Floats
    grid: Floats
    relief: Floats
    lifted: Floats
    lifted_grid: Floats


def cut_key(picture: Picture, index: int, face: Face, move: Movement, size: tuple[int, int]) -> Key | None:
    """A key of `picture`, on which the head moved by `move`; None where the face shows too little texture there."""
    left, top, right, bottom = _box(face, move, size)
    if right - left < 16 or bottom - top < 16:
        return None
    crop = even(picture[top:bottom, left:right])
    rows, columns = np.mgrid[top : bottom + COARSE : COARSE, left : right + COARSE : COARSE]
    grid, relief = onto_reference(face, move, np.stack([columns, rows], axis=-1).astype(np.float64))
    mask = _mask(face, grid, crop.shape)
    found = cv2.goodFeaturesToTrack(crop, FEATURES, QUALITY, max(3.0, face.height * move.scale / 50), mask=mask, blockSize=5)
    if found is None or len(found) < 2 * FEWEST:
        return None
    seen = found.reshape(-1, 2).astype(np.float64) + np.array([left, top])
    spots, depth = onto_reference(face, move, seen)
    lifted, lifted_grid = lift(spots, depth, move.focal, move.centre), lift(grid, relief, move.focal, move.centre)
    return Key(index, move, crop, (left, top), seen, spots, depth, grid, relief, lifted, lifted_grid)


def _box(face: Face, move: Movement, size: tuple[int, int]) -> tuple[int, int, int, int]:
    reach = 0.6 * face.height * move.scale
    middle = move.at(face.middle)
    left, top = (int(np.clip(v - reach, 0, limit)) for v, limit in zip(middle, size, strict=True))
    right, bottom = (int(np.clip(v + reach + 1, 0, limit)) for v, limit in zip(middle, size, strict=True))
    return left, top, right, bottom


def onto_reference(face: Face, move: Movement, seen: Floats) -> tuple[Floats, Floats]:
    """(reference px [shape=(..., 2)], depth [shape=(...)]) of the face's surface under px `seen` of a frame.

    By steps: the surface's depth under a guess gives a ray's true place, and that a better guess.
    """
    flat = seen.reshape(-1, 2)
    spots = _start(face, move, flat)
    for _ in range(BACK):
        depth = face.depth(spots)
        spots = spots + _towards(face, move, spots, depth, flat)
    return spots.reshape(seen.shape), face.depth(spots).reshape(seen.shape[:-1])


def _start(face: Face, move: Movement, seen: Floats) -> Floats:
    """As if the face were flat and the movement affine."""
    ends = move.at(face.middle + np.array([[0.0, 0], [1, 0], [0, 1]]), 0.15 * face.height)
    matrix = np.column_stack([ends[1] - ends[0], ends[2] - ends[0]])
    return np.asarray(face.middle + (seen - ends[0]) @ np.linalg.inv(matrix).T)


def _towards(face: Face, move: Movement, spots: Floats, depth: Floats, seen: Floats) -> Floats:
    """One Newton step on the surface; held short where the surface turns away."""
    side = 0.5
    here = move.at(spots, depth)
    right, down = ((move.at(beside, face.depth(beside)) - here) / side for beside in (spots + np.array(s) for s in ((side, 0), (0, side))))
    size = right[:, 0] * down[:, 1] - right[:, 1] * down[:, 0]
    size = np.where(np.abs(size) < 1 / SLOPE**2, np.copysign(1 / SLOPE**2, np.where(size < 0, -1.0, 1.0)), size)
    off = seen - here
    step = (
        np.stack([off[:, 0] * down[:, 1] - off[:, 1] * down[:, 0], right[:, 0] * off[:, 1] - right[:, 1] * off[:, 0]], axis=1)
        / size[:, None]
    )
    far = np.linalg.norm(step, axis=1, keepdims=True)
    most = 0.1 * face.height
    return np.asarray(step * np.minimum(1.0, most / np.maximum(far, 1e-9)))


def _mask(face: Face, grid: Floats, shape: tuple[int, ...]) -> npt.NDArray[np.uint8]:
    """255 where the crop's pixels lie on the face without eyes and mouth."""
    whole = face.mask((int(grid[..., 1].max()) + 2, int(grid[..., 0].max()) + 2))
    where = finer(grid.astype(np.float32), shape)
    return np.asarray(cv2.remap(whole, where[..., 0], where[..., 1], cv2.INTER_NEAREST, borderMode=cv2.BORDER_CONSTANT), np.uint8)


def even(picture: Picture) -> Picture:
    """The picture without its slow light: locally of mean 128 and like contrast, so that flow does not take shading for movement."""
    grey = picture.astype(np.float32)
    bare = cv2.GaussianBlur(grey, (0, 0), 0.7) - _slow(grey)
    spread = np.sqrt(_slow(bare * bare)) + 4.0
    return np.asarray(np.clip(128 + 50 * bare / spread, 0, 255), dtype=np.uint8)


def _slow(grey: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Nearly a Gaussian: three running means, which cost little however far they reach.

    On fewer pixels it would cost as little, but there the demo film's turned head was lost for 70 frames.
    """
    for _ in range(3):
        grey = np.asarray(cv2.blur(grey, (MEAN, MEAN)), np.float32)
    return grey


def laid(picture: Picture, key: Key, move: Movement) -> Picture:
    """The frame as it looks on the key: each pixel of the crop fetched from where the movement takes it."""
    where = finer(move.seen(key.lifted_grid).astype(np.float32), key.crop.shape)
    return np.asarray(cv2.remap(picture, where, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.uint8)


def finer(coarse: npt.NDArray[np.float32], shape: tuple[int, ...]) -> npt.NDArray[np.float32]:
    """A map known on every COARSE-th pixel, on every pixel of `shape`."""
    matrix = np.array([[COARSE, 0, 0], [0, COARSE, 0]], np.float64)
    return np.asarray(
        cv2.warpAffine(coarse, matrix, (shape[1], shape[0]), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float32
    )
