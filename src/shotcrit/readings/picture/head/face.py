"""Where a face is, from the marks that there are: the region whose texture tells how the head moves, without what moves by itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.readings.acting import MarkTrack
from shotcrit.readings.picture.marks.region import similarity

Floats = npt.NDArray[np.float64]

LAYOUT: Mapping[str, tuple[float, float]] = {
    "head_top": (0, -0.5), "eye_left": (0.16, -0.03), "eye_right": (-0.16, -0.03), "iris_left": (0.16, -0.03), "iris_right": (-0.16, -0.03),
    "brow_left": (0.16, -0.14), "brow_right": (-0.16, -0.14), "nose": (0, 0.12), "mouth_left": (0.12, 0.26), "mouth_right": (-0.12, 0.26),
    "lip_upper": (0, 0.25), "lip_lower": (0, 0.28), "chin": (0, 0.47),
}  # fmt: skip
"""A facing head in head heights, origin in its middle, +x the character's left, which is screen right (drawing-book proportions: eyes half-way
down, nose and mouth at thirds of the rest; common practice, no source)."""
BROAD, TALL = 0.30, 0.42
"""Half axes of the face's ellipse, head heights, within the outline, where what is behind shows (guess)."""
EYE_HOLE, MOUTH_HOLE = 1.25, (0.75, 0.14)
"""Left out: eyes up to this many eyeball radii; the mouth, half width in widths at rest, and half height at rest in head heights (guess)."""
FACE_MARKS = tuple(LAYOUT)
NEEDED = 3
"""Marks that place a face; two would leave its turn to chance when they lie close together."""


@dataclass(frozen=True)
class Face:
    """A face on its reference frame, px of the working size.

    index : the frame; middle : [shape=(2,)]; turn : [shape=(2, 2)] from head heights to px; height : px
    holes : list of (middle, half width, half height) px, left out
    """

    index: int
    middle: Floats
    turn: Floats
    height: float
    holes: tuple[tuple[Floats, float, float], ...]

    def depth(self, spots: Floats) -> Floats:
        """How far px `spots` [shape=(n, 2)] lie behind the foremost point of an ellipsoid as deep as it is broad, px: where depths start from."""
        own = (spots - self.middle) @ np.linalg.inv(self.turn).T
        inside = 1 - (own[:, 0] / 0.4) ** 2 - (own[:, 1] / 0.55) ** 2
        return np.asarray(0.4 * self.height * (1 - np.sqrt(np.clip(inside, 0.05, 1))))

    def mask(self, shape: tuple[int, int]) -> npt.NDArray[np.uint8]:
        """255 where texture tells how the head moves."""
        high, wide = shape
        mask = np.zeros(shape, np.uint8)
        angle = np.degrees(np.arctan2(self.turn[1, 0], self.turn[0, 0]))
        axes = (BROAD * self.height, TALL * self.height)
        cv2.ellipse(mask, (tuple(self.middle), (2 * axes[0], 2 * axes[1]), angle), 255, -1)
        for middle, across, down in self.holes:
            cv2.ellipse(mask, (tuple(middle), (2 * across, 2 * down), angle), 0, -1)
        del high, wide
        return mask

    def box(self, size: tuple[int, int]) -> tuple[int, int, int, int]:
        """Left, top, right, bottom px around the face, within a picture of `size`."""
        reach = 0.6 * self.height
        left, top = (max(0, int(v - reach)) for v in self.middle)
        right, bottom = (min(limit, int(v + reach) + 1) for v, limit in zip(self.middle, size, strict=True))
        return left, top, right, bottom


def reference_frame(tracks: Mapping[str, MarkTrack], first: int, stop: int) -> int | None:
    """The frame of a shot on which a person placed most marks of the face; of several the earliest, eyes counting most."""
    count: dict[int, float] = {}
    for name, track in tracks.items():
        if name in LAYOUT or name.endswith("_edge"):
            for index in track.placed:
                if first <= index < stop:
                    count[index] = count.get(index, 0) + (1.5 if name.startswith("eye") else 1)
    return max(sorted(count), key=lambda i: count[i], default=None)


def find_face(tracks: Mapping[str, MarkTrack], index: int, size: tuple[int, int]) -> Face | None:
    """The face on frame `index`, from tracks of its marks; None where fewer than NEEDED are known there. size : working size, px."""
    known = {n: spot(tracks[n], index, size) for n in LAYOUT if n in tracks and np.isfinite(tracks[n].xy[index]).all()}
    if len({n.removeprefix("iris").removeprefix("eye") for n in known}) < NEEDED:
        return None
    names = list(known)
    old, new = np.array([LAYOUT[n] for n in names]), np.array([known[n] for n in names])
    turn, middle = similarity(old, new, np.ones(len(names)))
    height = float(np.sqrt(abs(np.linalg.det(turn))))
    return Face(index, middle, turn, height, tuple(_holes(tracks, known, index, size, middle, turn, height)))


def spot(track: MarkTrack, index: int, size: tuple[int, int]) -> Floats:
    """Px of a picture of `size` (pixel centres at whole numbers)."""
    return np.asarray(track.xy[index], dtype=np.float64) * size - 0.5


def _holes(
    tracks: Mapping[str, MarkTrack],
    known: Mapping[str, Floats],
    index: int,
    size: tuple[int, int],
    middle: Floats,
    turn: Floats,
    height: float,
) -> list[tuple[Floats, float, float]]:
    holes = []
    for side in ("left", "right"):
        at = known.get(f"eye_{side}", known.get(f"iris_{side}", turn @ LAYOUT[f"eye_{side}"] + middle))
        edge = tracks.get(f"eye_{side}_edge")
        radius = 0.09 * height
        if edge is not None and f"eye_{side}" in known and np.isfinite(edge.xy[index]).all():
            radius = float(np.linalg.norm(spot(edge, index, size) - at))
        holes.append((at, EYE_HOLE * radius, EYE_HOLE * radius))
    corners = [known.get(n, turn @ LAYOUT[n] + middle) for n in ("mouth_left", "mouth_right")]
    lips = [known.get(n, turn @ LAYOUT[n] + middle) for n in ("lip_upper", "lip_lower")]
    across = MOUTH_HOLE[0] * float(np.linalg.norm(corners[0] - corners[1]))
    gap = float(np.linalg.norm(lips[0] - lips[1]))
    holes.append(((corners[0] + corners[1]) / 2 + turn @ [0, 0.05], across, MOUTH_HOLE[1] * height + gap))
    return holes
