"""An eyeball in the picture: from its centre, its edge and the place of the iris to where it points.

Frame of reference 'camera': x to screen right, y down, z from the lens into the picture (as in OpenCV). An eye that looks into the lens has
the direction opposite to the ray that leads to it, wherever in the picture it is: that is what 'the eye's own ray' is for.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

ASSUMED_FOV = 35.0
"""Vertical field of view, degrees, where no camera is known (guess: a 'normal' lens; 40 mm on 24 mm high film gives 33)."""
ASSUMED_FOV_ERROR = 10.0
"""Standard error of that guess, degrees (guess: lenses of 25 to 60 mm lie within)."""


@dataclass(frozen=True)
class Eyeball:
    """A sphere of radius 1. centre : [shape=(3,)] in radii, camera frame. Its distance follows from how large it looks."""

    centre: Floats

    @property
    def ray(self) -> Floats:
        """Unit vector from the lens to the centre."""
        return self.centre / np.linalg.norm(self.centre)


def assumed_camera(size: tuple[int, int], *, fov: float = ASSUMED_FOV) -> Floats:
    """Camera matrix [shape=(3, 3)] of a picture of `size` (width, height) px with square pixels, centre in the middle."""
    wide, high = size
    focal = high / 2 / tan(radians(fov) / 2)
    return np.array([[focal, 0, (wide - 1) / 2], [0, focal, (high - 1) / 2], [0, 0, 1]])


def ray_of(pixel: Floats, camera: Floats) -> Floats:
    """Unit vectors [shape=(..., 3)] from the lens through px [shape=(..., 2)]."""
    x = (pixel[..., 0] - camera[0, 2]) / camera[0, 0]
    y = (pixel[..., 1] - camera[1, 2]) / camera[1, 1]
    ray = np.stack([x, y, np.ones_like(x)], axis=-1)
    return np.asarray(ray / np.linalg.norm(ray, axis=-1, keepdims=True))


def eyeball_at(centre: Floats, radius: float, camera: Floats) -> Eyeball:
    """The eyeball whose centre is seen at px `centre` [shape=(2,)] and whose outline is `radius` px from it, across the way to the middle.

    A sphere of radius 1 whose outline lies an angle a off its centre is 1 / sin(a) away.
    """
    ray = ray_of(centre, camera)
    focal = (camera[0, 0] + camera[1, 1]) / 2
    # Across the direction to the picture's middle a sphere's outline is not stretched: tan(a) = radius * cos(angle of the ray) / focal.
    angle = np.arctan(radius * ray[2] / focal)
    return Eyeball(ray / np.sin(angle))


def look_at_pixel(eye: Eyeball, pixel: Floats, camera: Floats, *, depth: float = 1.0) -> Floats:
    """Unit directions [shape=(..., 3)], camera frame, of an eye whose iris is seen at px [shape=(..., 2)].

    depth : how far from the eyeball's centre the iris lies, in radii: 1 when it is painted on the ball
    The nearer hit of the pixel's ray with the sphere of that depth: s = b - sqrt(b^2 - |c|^2 + depth^2), b = ray . c. nan where the ray misses.
    """
    ray = ray_of(np.asarray(pixel, float), camera)
    along = ray @ eye.centre
    root = along**2 - eye.centre @ eye.centre + depth**2
    near = along - np.sqrt(np.where(root >= 0, root, np.nan))
    spot = ray * near[..., None] - eye.centre
    return np.asarray(spot / depth)


def pixel_of_look(eye: Eyeball, direction: Floats, camera: Floats, *, depth: float = 1.0) -> Floats:
    """Where the iris of an eye that points along `direction` [shape=(..., 3)] is seen: px [shape=(..., 2)]. Inverse of look_at_pixel."""
    spot = eye.centre + depth * np.asarray(direction, float)
    return np.asarray(spot[..., :2] / spot[..., 2:] * [camera[0, 0], camera[1, 1]] + camera[:2, 2])


def sphere_points(eye: Eyeball, pixels: Floats, camera: Floats) -> Floats:
    """Unit normals [shape=(..., 3)] of the eyeball under px [shape=(..., 2)]; nan beside it."""
    return look_at_pixel(eye, pixels, camera)


def angle_between(a: Floats, b: Floats) -> Floats:
    """Degrees between unit vectors [shape=(..., 3)], exact for small angles too (Kahan's formula: 2 atan2(|a - b|, |a + b|))."""
    return np.asarray(np.degrees(2 * np.arctan2(np.linalg.norm(a - b, axis=-1), np.linalg.norm(a + b, axis=-1))))


def across_and_down(direction: Floats, ray: Floats) -> Floats:
    """How far `direction` points away from the lens as the audience sees it: degrees [shape=(..., 2)], to screen right and down.

    (0, 0) looks into the lens. ray : [shape=(3,)] from the lens to the eye.
    """
    right = np.cross([0.0, 1.0, 0.0], ray)
    right /= np.linalg.norm(right)
    down = np.cross(ray, right)
    out, x, y = -(direction @ ray), direction @ right, direction @ down
    return np.asarray(np.degrees(np.stack([np.arctan2(x, out), np.arctan2(y, np.hypot(x, out))], axis=-1)))


def turned_to(direction: Floats, ray: Floats) -> Floats:
    """Inverse of across_and_down: unit vectors from degrees [shape=(..., 2)]."""
    right = np.cross([0.0, 1.0, 0.0], ray)
    right /= np.linalg.norm(right)
    down = np.cross(ray, right)
    x, y = np.radians(direction[..., 0])[..., None], np.radians(direction[..., 1])[..., None]
    return np.asarray(np.sin(x) * np.cos(y) * right + np.sin(y) * down - np.cos(x) * np.cos(y) * ray)
