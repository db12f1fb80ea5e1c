"""Pinhole cameras: from focal length and film back, from a field of view, or estimated from known points.

Camera frame: x to screen right, y down, z from the lens into the picture (as in OpenCV). Pixels: origin at the picture's top left corner,
x right, y down, the first pixel's centre at (0.5, 0.5).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, radians, tan

import cv2
import numpy as np
import numpy.typing as npt

from shotcrit.errors import ReadingError

Array = npt.NDArray[np.float64]

MIN_KNOWN_POINTS = 6
"""Known points that a focal length and a pose need: 11 unknowns of a general camera, 2 equations a point (direct linear transform)."""
NARROWEST_DEG, WIDEST_DEG = 3.0, 120.0
"""Vertical fields of view searched when a camera is estimated (guess: a 400 mm and a 7 mm lens on 35 mm film)."""


@dataclass(frozen=True)
class Lens:
    """Focal length and centre in pixels of a picture `width` x `height`."""

    focal_x: float
    focal_y: float
    centre_x: float
    centre_y: float
    width: int
    height: int

    @property
    def matrix(self) -> Array:
        """float64 [shape=(3, 3)] fx 0 cx / 0 fy cy / 0 0 1"""
        return np.array([[self.focal_x, 0, self.centre_x], [0, self.focal_y, self.centre_y], [0, 0, 1]], np.float64)

    @property
    def vertical_fov_deg(self) -> float:
        return 2 * float(np.degrees(atan(self.height / 2 / self.focal_y)))


def lens_from_film_back(focal_mm: float, back_width_mm: float, back_height_mm: float, *, width: int, height: int) -> Lens:
    """A lens from focal length and film back, both in mm.

    The film back's width fills the picture's width (the usual horizontal fit, as UsdGeomCamera and OpenUSD's usdrecord do); where the
    picture's shape differs from the film back's, the height follows from square pixels.
    f_px = f_mm * width / back_width
    """
    if min(focal_mm, back_width_mm, back_height_mm) <= 0:
        raise ReadingError("a camera's focal length and film back must be above zero")
    focal = focal_mm * width / back_width_mm
    return Lens(focal, focal, width / 2, height / 2, width, height)


def lens_from_fov(vertical_deg: float, *, width: int, height: int) -> Lens:
    """A lens from its vertical field of view: f = (height / 2) / tan(fov / 2), square pixels."""
    if not 0 < vertical_deg < 180:
        raise ReadingError(f"a field of view of {vertical_deg:g} degrees is none; it lies between 0 and 180")
    focal = height / 2 / tan(radians(vertical_deg) / 2)
    return Lens(focal, focal, width / 2, height / 2, width, height)


def project(points: Array, lens: Lens) -> Array:
    """Camera points [shape=(..., 3)] to pixels [shape=(..., 2)]; nan behind the lens."""
    p = np.asarray(points, np.float64)
    depth = np.where(p[..., 2] > 0, p[..., 2], np.nan)
    return np.stack([lens.focal_x * p[..., 0] / depth + lens.centre_x, lens.focal_y * p[..., 1] / depth + lens.centre_y], axis=-1)


def pixel_rays(pixels: Array, lens: Lens) -> Array:
    """Pixels [shape=(..., 2)] to unit vectors in the camera frame [shape=(..., 3)], from the lens outwards."""
    p = np.asarray(pixels, np.float64)
    ray = np.stack([(p[..., 0] - lens.centre_x) / lens.focal_x, (p[..., 1] - lens.centre_y) / lens.focal_y, np.ones(p.shape[:-1])], axis=-1)
    return ray / np.linalg.norm(ray, axis=-1, keepdims=True)


def to_camera(points: Array, world_to_camera: Array) -> Array:
    """World points [shape=(..., 3)] through a 4 x 4 matrix (or one a frame, [shape=(n, 4, 4)] for points [shape=(n, 3)])."""
    p = np.asarray(points, np.float64)
    m = np.asarray(world_to_camera, np.float64)
    return np.einsum("...ij,...j->...i", m[..., :3, :3], p) + m[..., :3, 3]


def direction_to_camera(directions: Array, world_to_camera: Array) -> Array:
    """World directions [shape=(..., 3)] to unit camera directions; scale and translation drop out."""
    turned = np.einsum("...ij,...j->...i", np.asarray(world_to_camera, np.float64)[..., :3, :3], np.asarray(directions, np.float64))
    return turned / np.linalg.norm(turned, axis=-1, keepdims=True)


def estimate_lens(world: Array, pixels: Array, *, width: int, height: int) -> tuple[Lens, Array, float]:
    """The lens and pose that best show known things where they are seen.

    world : [shape=(k, 3)] known points, metres, not all in one plane; pixels : [shape=(k, 2)] where they are in the picture

    Searches the vertical field of view for the least reprojection error, the pose by OpenCV's solvePnP.
    Returns lens, world_to_camera [shape=(4, 4)], root mean square error in pixels.
    Raises ReadingError for fewer than MIN_KNOWN_POINTS points or a search that fits nothing.
    """
    if len(world) < MIN_KNOWN_POINTS or len(world) != len(pixels):
        raise ReadingError(f"a camera is estimated from at least {MIN_KNOWN_POINTS} known points; {len(world)} were given")
    grid = np.geomspace(NARROWEST_DEG, WIDEST_DEG, 60)
    best = _best_fov(grid, world, pixels, width, height)
    for step in (0.02, 0.002, 0.0002):
        best = _best_fov(best * np.linspace(1 - 3 * step, 1 + 3 * step, 13), world, pixels, width, height)
    lens = lens_from_fov(best, width=width, height=height)
    pose, error = _pose(world, pixels, lens)
    if pose is None:
        raise ReadingError("no camera fits the known points; check which point is which")
    return lens, pose, error


def _best_fov(fovs: Array, world: Array, pixels: Array, width: int, height: int) -> float:
    errors = [_pose(world, pixels, lens_from_fov(float(fov), width=width, height=height))[1] for fov in fovs]
    return float(fovs[int(np.argmin(errors))])


def _pose(world: Array, pixels: Array, lens: Lens) -> tuple[Array | None, float]:
    found, turn, shift = cv2.solvePnP(
        np.asarray(world, np.float64), np.asarray(pixels, np.float64), lens.matrix, None, flags=cv2.SOLVEPNP_SQPNP
    )
    if not found:
        return None, float("inf")
    turn, shift = cv2.solvePnPRefineLM(np.asarray(world, np.float64), np.asarray(pixels, np.float64), lens.matrix, None, turn, shift)
    pose = np.eye(4)
    pose[:3, :3], pose[:3, 3] = cv2.Rodrigues(turn)[0], shift[:, 0]
    gap = project(to_camera(world, pose), lens) - pixels
    if not np.isfinite(gap).all():
        return None, float("inf")
    return pose, float(np.sqrt((gap**2).sum(axis=1).mean()))
