"""Angles between where eyes point and where they should, as the audience sees them.

Camera frame: x to screen right, y down, z from the lens into the picture. All directions are unit vectors.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

CONE_HALF_DEG = 2.6
"""Half of the cone of direct gaze, 5.2 degrees wide: Horstmann & Linke (2021), Perception, doi:10.1177/03010066211059930."""
CONE_OUTER_DEG = 4.0
"""Beyond this nobody in the literature still feels looked at from the side: width +-4 degrees, Horstmann & Linke (2022), Cogn. Res.
Princ. Implic.;
ranges of 4 to 9 degrees of eye rotation are reported by Linke & Horstmann (2022), doi:10.1177/03010066221122359."""
VERTICAL_UNDECIDED_DEG = 4.0
"""Where the best spot lies is disputed in height: about 2 degrees below the lens (Gao et al. 2025, J. Vision 25(11):8) against slightly
above it
(Horstmann & Linke 2022). Vertical errors below this are not decided."""
VERTICAL_OUTER_DOWN_DEG = 9.0
"""Looks below the lens are forgiven most: an order of magnitude less sensitive below than to the sides (Chen 2002, CHI); outer end
of the 4 to 9 degree range above."""

Verdict = Literal["at the lens", "undecided", "off the lens"]


@dataclass(frozen=True)
class Miss:
    """How far a gaze is off, in degrees.

    total : the angle between seen and wanted
    right : signed, positive = points further to screen right than wanted (for a look across the picture: further from the lens when it goes
        screen right is positive as well; see `across_depth`)
    up : signed, positive = points higher on the picture than wanted
    across_depth : True where the wanted look runs along the picture plane, so that the sideways error is towards or away from the lens
    nearer : the look points more towards the lens than it should; what `across_depth` needs to be said
    """

    total: float
    right: float
    up: float
    across_depth: bool
    nearer: bool = False


def angle_deg(a: Array, b: Array) -> Array:
    """Angle between vectors [shape=(..., 3)], degrees; by atan2 of cross and dot, which is exact for small angles too (Kahan 2006)."""
    a64, b64 = np.asarray(a, np.float64), np.asarray(b, np.float64)
    cross = np.linalg.norm(np.cross(a64, b64), axis=-1)
    return np.degrees(np.arctan2(cross, (a64 * b64).sum(axis=-1)))


def azimuth_elevation(direction: Array) -> tuple[Array, Array]:
    """Degrees. azimuth: turn about the picture's vertical from straight at the lens (0), positive to screen right, -180..180;
    elevation: up is positive."""
    d = np.asarray(direction, np.float64)
    azimuth = np.degrees(np.arctan2(d[..., 0], -d[..., 2]))
    elevation = np.degrees(np.arctan2(-d[..., 1], np.hypot(d[..., 0], d[..., 2])))
    return azimuth, elevation


def from_azimuth_elevation(azimuth_deg: Array | float, elevation_deg: Array | float) -> Array:
    """The inverse of azimuth_elevation: unit vectors [shape=(..., 3)]."""
    az, el = np.radians(azimuth_deg), np.radians(elevation_deg)
    return np.stack([np.sin(az) * np.cos(el), -np.sin(el), -np.cos(az) * np.cos(el)], axis=-1)


PICTURE_PLANE_DEG = 20.0
"""A look within this of the picture plane is called one across depth (guess: there a sideways turn hardly moves the look on the
picture)."""


def miss(seen: Array, wanted: Array) -> Miss:
    """Split the error of one look. seen, wanted : unit vectors [shape=(3,)], camera.

    right = d(azimuth) * cos(elevation), up = d(elevation); total is the exact angle.
    """
    (az_s, el_s), (az_w, el_w) = azimuth_elevation(seen), azimuth_elevation(wanted)
    turn = (float(az_s - az_w) + 180) % 360 - 180
    across = bool(abs(abs(float(az_w)) - 90) < PICTURE_PLANE_DEG)
    # Beyond the picture plane (looking into the picture) a growing azimuth carries the look back to screen left.
    sign = -1.0 if abs(float(az_w)) > 90 else 1.0
    return Miss(
        total=float(angle_deg(seen, wanted)),
        right=sign * turn * float(np.cos(np.radians(el_w))),
        up=float(el_s - el_w),
        across_depth=across,
        nearer=bool(seen[2] < wanted[2]),
    )


def split_by_plane(seen: Array, wanted: Array, normal: Array) -> tuple[float, float]:
    """A miss as degrees out of a plane and degrees within it. seen, wanted, normal : unit vectors [shape=(3,)].

    out = asin(seen . normal) - asin(wanted . normal), + on the normal's side; within: the turn about the normal from wanted to seen, signed.
    The plane that matters is the one through the lens and two things in the picture: how deep they stand turns the way between them within it only.
    """
    heights = np.degrees(np.arcsin(np.clip([float(seen @ normal), float(wanted @ normal)], -1, 1)))
    flat_seen, flat_wanted = seen - (seen @ normal) * normal, wanted - (wanted @ normal) * normal
    within = np.degrees(np.arctan2(float(np.cross(flat_wanted, flat_seen) @ normal), float(flat_wanted @ flat_seen)))
    return float(heights[0] - heights[1]), float(within)


def turned_by_plane(wanted: Array, normal: Array, out_deg: float, within_deg: float) -> Array:
    """The inverse of split_by_plane: the unit vector that misses `wanted` by these two angles."""
    out = np.arcsin(np.clip(float(wanted @ normal), -1, 1)) + np.radians(out_deg)
    flat = wanted - (wanted @ normal) * normal
    flat = flat / np.linalg.norm(flat)
    within = np.radians(within_deg)
    turned = flat * np.cos(within) + np.cross(normal, flat) * np.sin(within)
    return np.asarray(turned * np.cos(out) + normal * np.sin(out))


def lens_verdict(right_deg: float, up_deg: float, error_deg: float = 0.0) -> Verdict:
    """Is a look at the lens, by the cone of direct gaze and its known asymmetry.

    right_deg, up_deg : miss against the direction from the eyes to the lens; error_deg : one standard error of either.
    Inside CONE_HALF_DEG to the sides and CONE_HALF_DEG in height: 'at the lens'. Outside CONE_OUTER_DEG to the sides,
    VERTICAL_UNDECIDED_DEG up or
    VERTICAL_OUTER_DOWN_DEG down: 'off the lens'. Between, where the literature disagrees, or where two standard errors cross a limit:
    'undecided'.
    """
    reach = 2 * error_deg
    side = abs(right_deg)
    if side - reach > CONE_OUTER_DEG or up_deg - reach > VERTICAL_UNDECIDED_DEG or -up_deg - reach > VERTICAL_OUTER_DOWN_DEG:
        return "off the lens"
    if side + reach <= CONE_HALF_DEG and abs(up_deg) + reach <= CONE_HALF_DEG:
        return "at the lens"
    return "undecided"


def mean_direction(directions: Array, weights: Array | None = None) -> Array:
    """The mean of unit vectors [shape=(k, 3)] as a unit vector; nan where nothing is known."""
    d = np.asarray(directions, np.float64)
    w = np.ones(len(d)) if weights is None else np.asarray(weights, np.float64)
    known = np.isfinite(d).all(axis=1) & np.isfinite(w)
    if not known.any():
        return np.full(3, np.nan)
    total = (d[known] * w[known, None]).sum(axis=0)
    return np.asarray(total / np.linalg.norm(total))


def closest_approach(origin_a: Array, direction_a: Array, origin_b: Array, direction_b: Array) -> tuple[float, float, float]:
    """Where two rays come nearest: distance along a, along b, and the gap between them, in the unit of the origins.

    Solves the 2 x 2 normal equations; parallel rays give nan, nan and the distance of the lines.
    """
    across = np.asarray(origin_b, np.float64) - np.asarray(origin_a, np.float64)
    dot = float(np.dot(direction_a, direction_b))
    below = 1 - dot * dot
    if below < 1e-12:
        return float("nan"), float("nan"), float(np.linalg.norm(across - np.dot(across, direction_a) * np.asarray(direction_a)))
    along_a = float((np.dot(across, direction_a) - dot * np.dot(across, direction_b)) / below)
    along_b = float((dot * np.dot(across, direction_a) - np.dot(across, direction_b)) / below)
    gap = across + along_b * np.asarray(direction_b) - along_a * np.asarray(direction_a)
    return along_a, along_b, float(np.linalg.norm(gap))
