"""Heads sculpted from smooth unions, with a real mouth opening and its shapes. Fractions of head height; the face looks along +z.

A head is a sheet of rings about the mouth: ring 0 is the line where the lips meet, the next rings are the lips, and the last is the back
of the head. Behind ring 0 the sheet goes on into the mouth. So each shape of the mouth is an offset that fades with the distance from the lips.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from meshes import Mesh, grid_faces

CORE = np.array([0.0, -0.10, 0.0])
"""Every point of the surface is seen from here."""
AROUND = 88
LIP_RINGS = 6
INNER_RINGS = 5
MOUTH_Y = -0.265
MOUTH_HALF = 0.118
"""Half the mouth's width at rest."""
JAW_TURN = np.radians(17.0)
"""Of the jaw at weight 1."""
JAW_AT = np.array([0.0, -0.06, -0.05])
EYE_X, EYE_Y = 0.158, 0.045


@dataclass(frozen=True)
class Looks:
    """What differs between two heads."""

    jaw: float = 1.0
    nose: float = 1.0
    cheek: float = 1.0
    chin: float = 1.0
    eye: float = 0.098
    lip: float = 1.0
    brow: float = 1.0


def _ellipsoid(p, at, radii):
    q = (p - np.asarray(at)) / np.asarray(radii)
    k = np.linalg.norm(q, axis=-1)
    return (k - 1) * np.min(radii)


def _join(a, b, k):
    h = np.clip(0.5 + 0.5 * (b - a) / k, 0, 1)
    return b + (a - b) * h - k * h * (1 - h)


def _bare(p: np.ndarray, looks: Looks) -> np.ndarray:
    """Signed distance without eye sockets."""
    flat = p * np.array([1.0, 1.0, 1.0])
    mirrored = np.stack([np.abs(flat[..., 0]), flat[..., 1], flat[..., 2]], -1)
    d = _ellipsoid(flat, (0, 0.12, -0.03), (0.40, 0.405, 0.42))
    d = _join(d, _ellipsoid(flat, (0, -0.19, 0.07), (0.29 * looks.jaw, 0.27, 0.29)), 0.16)
    d = _join(d, _ellipsoid(mirrored, (0.185, -0.12, 0.20), (0.125 * looks.cheek,) * 3), 0.10)
    d = _join(d, _ellipsoid(flat, (0, -0.395, 0.22), (0.10 * looks.chin, 0.075, 0.085)), 0.11)
    d = _join(d, _ellipsoid(flat, (0, MOUTH_Y, 0.27), (0.15, 0.10, 0.10)), 0.10)
    d = _join(d, _ellipsoid(mirrored, (0.15, 0.165, 0.305), (0.13, 0.035 * looks.brow, 0.06)), 0.07)
    bridge = _ellipsoid(flat, (0, 0.0, 0.36), (0.030, 0.10, 0.055))
    tip = _ellipsoid(flat, (0, -0.085, 0.425), (0.052 * looks.nose, 0.047 * looks.nose, 0.055 * looks.nose))
    wings = _ellipsoid(mirrored, (0.042 * looks.nose, -0.10, 0.395), (0.028 * looks.nose,) * 3)
    return _join(_join(_join(d, bridge, 0.07), tip, 0.05), wings, 0.025)


@lru_cache
def eye_centre(looks: Looks) -> np.ndarray:
    """The left eye's; it stands out of the bare face by half of its radius."""
    z = _hit(np.array([[0.0, 0.0, 1.0]]), looks, start=np.array([EYE_X, EYE_Y, 0.0]), field=_bare)[0, 2]
    return np.array([EYE_X, EYE_Y, z - 0.50 * looks.eye])


def _head(p: np.ndarray, looks: Looks) -> np.ndarray:
    eye = eye_centre(looks)
    mirrored = np.stack([np.abs(p[..., 0]), p[..., 1], p[..., 2]], -1)
    hollow = _ellipsoid(mirrored, eye + np.array([0.0, 0.0, 0.55 * looks.eye]), np.array([1.02, 0.92, 0.60]) * looks.eye)
    return -_join(-_bare(p, looks), hollow, 0.045)


def _hit(directions: np.ndarray, looks: Looks, *, start=CORE, field=_head) -> np.ndarray:
    """Where rays from `start` leave the surface, by bisection."""
    low, high = np.zeros(directions.shape[:-1]), np.full(directions.shape[:-1], 1.0)
    for _ in range(18):
        mid = (low + high) / 2
        inside = field(start + directions * mid[..., None], looks) < 0
        low, high = np.where(inside, mid, low), np.where(inside, high, mid)
    return start + directions * low[..., None]


@dataclass(frozen=True)
class Sheet:
    """The rings: points [rings, around + 1, 3], distance s from the lips' line in radians about CORE, and the angle about the mouth."""

    points: np.ndarray
    s: np.ndarray
    theta: np.ndarray
    lip: np.ndarray


def _ring_distances(theta: np.ndarray, looks: Looks) -> tuple[np.ndarray, np.ndarray]:
    """s [rings, columns] and the lips' own reach [columns]."""
    up = np.sin(theta) > 0
    bow = 1 - 0.28 * np.exp(-((np.cos(theta) / 0.16) ** 2)) * up
    reach = np.where(up, 0.082 * bow, 0.112) * np.maximum(np.abs(np.sin(theta)), 0.12) ** 0.55 * looks.lip
    lips = np.linspace(0, 1, LIP_RINGS)[:, None] * reach
    steps = np.concatenate([[0.006], np.full(8, 0.017), np.full(34, 0.0310), np.geomspace(0.05, 0.22, 9)])
    rest = np.cumsum(steps)
    rest = rest / rest[-1]
    outer = reach + rest[:, None] * (np.pi - reach)
    return np.vstack([lips, outer]), reach


@lru_cache
def sheet(looks: Looks) -> Sheet:
    theta = np.linspace(0, 2 * np.pi, AROUND + 1)
    s, reach = _ring_distances(theta, looks)
    mouth = _hit(_unit(np.array([[0.0, MOUTH_Y - CORE[1], 0.40]])), looks)[0]
    forward = _unit(mouth - CORE)
    up = _unit(np.array([0, 1.0, 0]) - forward * forward[1])
    half = MOUTH_HALF / np.linalg.norm(mouth - CORE)
    across = (half + s * (np.pi - half) / np.pi) * np.cos(theta)
    along = s * np.sin(theta) + 0.035 * np.exp(-s / 0.2) * (np.cos(theta) ** 2)
    angle = np.maximum(np.hypot(across, along), 1e-9)
    sideways = (across[..., None] * np.array([1.0, 0, 0]) + along[..., None] * up) / angle[..., None]
    points = _hit(np.cos(angle)[..., None] * forward + np.sin(angle)[..., None] * sideways, looks)
    return Sheet(points + _lip_bulge(s, theta, reach, looks), s, np.broadcast_to(theta, s.shape), reach)


def _unit(v):
    return v / np.linalg.norm(v, axis=-1, keepdims=True)


def _lip_bulge(s, theta, reach, looks: Looks) -> np.ndarray:
    """Lips stand out from the face, and meet in a groove."""
    part = np.clip(s / reach, 0, 1)
    up = np.sin(theta) > 0
    height = np.where(up, 0.022, 0.028) * np.abs(np.sin(theta)) ** 0.6 * looks.lip
    rim = np.sin(np.pi * np.clip(part * 0.86 + 0.02, 0, 1)) ** 0.75
    fade = np.exp(-np.maximum(s - reach, 0) / 0.02) * 0.25 * np.where(part >= 1, 1, 0)
    out = np.zeros((*s.shape, 3))
    out[..., 2] = height * np.maximum(rim * (part < 1), fade) - 0.010 * np.exp(-((part / 0.14) ** 2))
    out[..., 1] = -0.35 * height * rim * (part < 1) * np.where(up, 1, -1) * (part > 0.02) * np.sin(np.pi * part)
    return out


def _smooth(x, low, high):
    t = np.clip((x - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


def shapes(sh: Sheet, looks: Looks) -> dict[str, np.ndarray]:
    """Offsets of every mouth shape at weight 1, [rings, columns, 3]. 'gap' at 1 parts the lips by the mouth's own width at rest."""
    s, sine, cosine = sh.s, np.sin(sh.theta), np.cos(sh.theta)
    up = sine > 0
    away = np.maximum(s - sh.lip, 0)
    near, wide = np.exp(-((away / 0.16) ** 2)), np.exp(-((away / 0.38) ** 2))
    open_ = np.abs(sine) ** 0.75 * (1 - 0.0 * s)
    zero = np.zeros_like(s)
    return {
        "gap": _stack(
            zero,
            np.where(up, 0.24 * near, -0.76 * np.exp(-((away / 0.30) ** 2))) * open_ * 2 * MOUTH_HALF,
            np.where(up, 0, -0.05) * near * open_,
        ),
        "jaw": _jaw(sh),
        "wide": _stack(np.sign(cosine) * np.abs(cosine) ** 1.3 * 0.052 * wide, zero, -0.030 * cosine**2 * wide),
        "round": _stack(-cosine * 0.066 * np.exp(-((away / 0.24) ** 2)), zero, (0.055 - 0.012 * cosine**2) * near),
        "bite": _stack(zero, np.where(up, 0.004, 0.020 * np.abs(sine)) * near, np.where(up, 0, -0.034 * np.abs(sine)) * near),
        "press": -0.75 * _lip_bulge(s, sh.theta, sh.lip, looks) + _stack(zero, zero, -0.008 * near),
        "smile": _smile(sh, wide),
        "sad": _stack(zero, -0.035 * cosine**2 * wide, zero),
    }


def _stack(x, y, z):
    return np.stack(np.broadcast_arrays(x, y, z), -1)


def _jaw(sh: Sheet) -> np.ndarray:
    """The chin turns about the jaw's hinge; the lips' own line stays, 'gap' moves that."""
    away = np.maximum(sh.s - 0.4 * sh.lip, 0)
    below = _smooth(-np.sin(sh.theta), -0.10, 0.55) * _smooth(away, 0.0, 0.20)
    p = sh.points - JAW_AT
    weight = below * _smooth(sh.points[..., 2], -0.05, 0.16) * _smooth(-sh.points[..., 1], 0.05, 0.25)
    c, si = np.cos(JAW_TURN), np.sin(JAW_TURN)
    turned = np.stack([p[..., 0], c * p[..., 1] - si * p[..., 2], si * p[..., 1] + c * p[..., 2]], -1)
    return (turned - p) * weight[..., None]


def _smile(sh: Sheet, wide: np.ndarray) -> np.ndarray:
    cosine = np.cos(sh.theta)
    ends = np.abs(cosine) ** 1.6 * wide
    out = _stack(np.sign(cosine) * 0.042 * ends, 0.050 * ends, -0.024 * ends)
    for sign in (-1, 1):
        apple = np.exp(-np.sum(((sh.points - np.array([sign * 0.205, -0.125, 0.27])) / 0.105) ** 2, axis=-1))
        out += apple[..., None] * np.array([sign * 0.010, 0.024, 0.022])
    return out


def inside(sh: Sheet, moves: dict[str, np.ndarray]) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """The mouth's own room behind the lips' line, deepest ring first, and how it follows the lips."""
    line = sh.points[0]
    middle = line.mean(axis=0)
    sine = np.sin(sh.theta[0])[:, None] * np.array([0, 1.0, 0])
    table = ((0.012, 0.020, 1.0), (0.03, 0.075, 0.98), (0.09, 0.095, 0.9), (0.18, 0.085, 0.75), (0.27, 0.01, 0.1))
    rings = []
    for depth, tall, narrow in reversed(table):
        ring = middle + (line - middle) * np.array([narrow, 1, 1]) + sine * tall
        rings.append(ring - np.array([0, 0, depth]))
    follow = np.array([0.9, 0.8, 0.55, 0.3, 0.1])[::-1, None, None]
    return np.stack(rings), {k: follow * m[0][None] for k, m in moves.items()}


@lru_cache
def face_places(looks: Looks) -> dict[str, np.ndarray]:
    """Rest places of a face's nodes, in the sculpture's frame ('iris' and 'lidmark' share their eye's or lid's origin convention, see rig)."""
    sh = sheet(looks)
    quarter = AROUND // 4
    eye = eye_centre(looks)
    out = {
        "jaw": JAW_AT, "mouth_left": sh.points[0, 0], "mouth_right": sh.points[0, 2 * quarter],
        "lip_upper": sh.points[0, quarter], "lip_lower": sh.points[0, 3 * quarter],
        "nose": _hit(_unit(np.array([[0.0, -0.085 - CORE[1], 0.48]])), looks)[0],
        "chin": _hit(_unit(np.array([[0.0, -0.405 - CORE[1], 0.30]])), looks)[0],
        "head_top": np.array([0.0, 0.525, -0.03]), "tongue": np.array([0.0, MOUTH_Y - 0.055, 0.22]),
    }  # fmt: skip
    for side, sign in (("left", 1.0), ("right", -1.0)):
        mirror = np.array([sign, 1, 1])
        out[f"eye_{side}"] = eye * mirror
        out[f"iris_{side}"] = eye * mirror + (0, 0, looks.eye)
        out[f"lid_upper_{side}"] = out[f"lid_lower_{side}"] = eye * mirror
        out[f"lidmark_upper_{side}"] = out[f"lidmark_lower_{side}"] = np.array([0, 0, looks.eye * 1.05])
        out[f"brow_{side}"] = _hit(_unit(np.array([[sign * 0.155, 0.215 - CORE[1], 0.36]])), looks)[0]
        out[f"eye_{side}_edge"] = eye * mirror + np.array([sign * looks.eye, 0, 0])
    return out


def mouth_moves(looks: Looks) -> dict[str, dict[str, np.ndarray]]:
    """mark -> shape -> offset of the mark at weight 1, as the mesh itself moves there."""
    sh = sheet(looks)
    moves = shapes(sh, looks)
    quarter = AROUND // 4
    columns = {"mouth_left": 0, "lip_upper": quarter, "mouth_right": 2 * quarter, "lip_lower": 3 * quarter}
    return {mark: {k: m[0, c] for k, m in moves.items()} for mark, c in columns.items()}


def head_mesh(who: str, looks: Looks, *, skin, lips, coarse: bool = False) -> Mesh:
    """The whole head as one drawable with its mouth shapes; sRGB colours in, linear out. coarse : every second ring and column."""
    sh = sheet(looks)
    moves = shapes(sh, looks)
    room, room_moves = inside(sh, moves)
    # The lips' line is kept, so that a coarse mouth shuts as the fine one does.
    rows = np.arange(INNER_RINGS % 2 if coarse else 0, INNER_RINGS + len(sh.points), 2 if coarse else 1)
    pick = np.ix_(rows, np.arange(0, AROUND + 1, 2 if coarse else 1))
    points = np.concatenate([room, sh.points])[pick]
    uv = np.stack([np.arctan2(points[..., 0], points[..., 2]) / (2 * np.pi) + 0.5, points[..., 1] + 0.5], -1)
    paint = np.concatenate([_room_paint(), _paint(sh, skin, lips)])[pick]
    every = {k: np.concatenate([room_moves[k], m])[pick].reshape(-1, 3) for k, m in moves.items()}
    faces = grid_faces(*points.shape[:2])[:, ::-1]
    flat = points.reshape(-1, 3)
    return Mesh(f"{who}_head_mesh", f"{who}_head", f"skin_{who}", flat, faces, uv.reshape(-1, 2), paint.reshape(-1, 3) ** 2.2, every)


def _room_paint() -> np.ndarray:
    tones = np.array([[0.10, 0.02, 0.03], [0.20, 0.04, 0.05], [0.30, 0.07, 0.08], [0.45, 0.14, 0.14], [0.55, 0.22, 0.20]])
    return np.repeat(tones[:, None], AROUND + 1, axis=1)


def _paint(sh: Sheet, skin, lips) -> np.ndarray:
    """Skin with warm cheeks, nose and ears' side, and lips whose border is one ring wide."""
    p = sh.points
    out = np.broadcast_to(np.asarray(skin, float), p.shape).copy()
    for at, size, tone, much in (
        ((0.21, -0.13, 0.28), 0.13, (0.93, 0.45, 0.38), 0.50), ((0.0, -0.09, 0.47), 0.075, (0.93, 0.47, 0.38), 0.40),
        ((0.16, 0.05, 0.34), 0.13, (0.80, 0.52, 0.45), 0.30), ((0.0, -0.42, 0.28), 0.09, (0.90, 0.52, 0.42), 0.18),
    ):  # fmt: skip
        q = np.stack([np.abs(p[..., 0]), p[..., 1], p[..., 2]], -1) - np.asarray(at)
        w = much * np.exp(-np.sum(q**2, -1) / size**2)
        out = out + w[..., None] * (np.asarray(tone) - out)
    lip = np.arange(len(sh.s)) < LIP_RINGS
    inner = np.clip(1 - sh.s[lip] / sh.lip, 0, 1)[..., None]
    out[lip] = np.asarray(lips) * (1 - 0.45 * inner**3)
    return out
