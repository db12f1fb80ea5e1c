"""Eyes, lids, brows, teeth, tongue, ears, hair, beard and cap: what is hung on a sculpted head."""

from __future__ import annotations

import numpy as np

import sculpt
from meshes import Mesh, ball, grid, joined, lathe, tube, turned
from rig import HEAD_AT, HEAD_M, SIDES
from sculpt import MOUTH_Y, Looks

LID = 1.05
"""Outer radius of a lid, in eye radii."""


def eyes(who: str, looks: Looks, skin) -> list[Mesh]:
    """Balls painted from the front, lids that turn about the eye's own x axis, with lashes on their edge."""
    out = []
    for side, _ in SIDES:
        radius = looks.eye * HEAD_M
        out.append(_eyeball(f"{who}_eye_{side}_mesh", f"{who}_eye_{side}", f"eye_{who}", radius))
        out.append(_lid(who, f"upper_{side}", radius, 1.0, skin))
        out.append(_lid(who, f"lower_{side}", radius, -1.0, skin))
    return out


def _eyeball(name: str, node: str, material: str, radius: float) -> Mesh:
    away = np.linspace(0, np.pi, 19)[:, None]
    around = np.linspace(0, 2 * np.pi, 37)[None, :]
    p = np.stack([np.sin(away) * np.cos(around), np.sin(away) * np.sin(around), np.cos(away) + 0 * around], -1)
    mesh = grid(name, node, material, p * radius, flip=True)
    flat = np.where(p[..., 2:] > 0, p[..., :2], p[..., :2] / np.maximum(np.linalg.norm(p[..., :2], axis=-1, keepdims=True), 1e-9) * 0.999)
    mesh.uv = (0.5 + 0.5 * flat).reshape(-1, 2)
    return mesh


def _lid(who: str, part: str, radius: float, sign: float, skin) -> Mesh:
    """A patch whose edge lies at elevation 0 of the lid's frame; it covers from there up (or down, sign -1)."""
    lat = np.radians(np.linspace(-86, 86, 23))[None, :]
    rise = np.radians(np.concatenate([[0.0, 0.0, 2.5, 5.0], np.linspace(9, 100, 9)]))[:, None]
    shell = np.concatenate([[0.985], np.full(3, LID + 0.02), np.full(9, LID)])[:, None]
    r = radius * (shell + 0 * lat)
    p = np.stack([r * np.sin(lat), sign * r * np.cos(lat) * np.sin(rise), r * np.cos(lat) * np.cos(rise)], -1)
    tone = (0.82 * np.asarray(skin) + 0.18 * np.array([0.80, 0.52, 0.45])) * np.array([0.90, 0.87, 0.86])
    paint = np.broadcast_to(tone, p.shape).copy()
    paint[:3] = (0.10, 0.06, 0.05) if sign > 0 else tone * 0.72
    paint[3] = tone * (0.55 if sign > 0 else 0.9)
    mesh = grid(f"{who}_lid_{part}_mesh", f"{who}_lid_{part}", f"plain_skin_{who}", p, flip=sign < 0)
    mesh.colors = paint.reshape(-1, 3) ** 2.2
    return mesh


def brows(who: str, looks: Looks, tone, *, thick: float) -> list[Mesh]:
    places = sculpt.face_places(looks)
    out = []
    for side, sign in SIDES:
        x = np.linspace(0.055, 0.285, 12)
        t = np.linspace(0, 1, 12)
        rays = np.stack(
            [sign * x, 0.195 + 0.045 * np.sin(np.pi * (0.25 + 0.62 * t)) - sculpt.CORE[1], np.full(12, 0.38) - 0.3 * t**2 * 0.3], -1
        )
        path = sculpt._hit(sculpt._unit(rays), looks) + np.array([0, 0, -0.004])
        radius = thick * (0.35 + 0.85 * np.sin(np.pi * (0.12 + 0.80 * t)) ** 0.7)
        mesh = tube(
            f"{who}_brow_{side}_mesh",
            f"{who}_brow_{side}",
            f"hair_{who}",
            (path - places[f"brow_{side}"]) * HEAD_M,
            radius * 0.55 * HEAD_M,
            around=10,
            flat=1.9,
        )
        mesh.colors = np.broadcast_to(np.asarray(tone) ** 2.2, mesh.positions.shape).copy()
        out.append(mesh)
    return out


def mouth_parts(who: str, looks: Looks) -> list[Mesh]:
    """Two rows of teeth with gums, and a tongue. Upper teeth sit on the head, lower ones on the jaw."""
    depth = sculpt.face_places(looks)["lip_upper"][2] - 0.030
    upper = _row(f"{who}_teeth_upper", f"{who}_head", MOUTH_Y + 0.060, MOUTH_Y - 0.014, depth, HEAD_AT)
    lower = _row(f"{who}_teeth_lower", f"{who}_jaw", MOUTH_Y - 0.078, MOUTH_Y - 0.020, depth - 0.012, -sculpt.JAW_AT * HEAD_M)
    tongue = ball(f"{who}_tongue_mesh", f"{who}_tongue", "tongue", np.array([0.066, 0.026, 0.085]) * HEAD_M)
    return [*upper, *lower, tongue]


def _row(name: str, node: str, root: float, edge: float, depth: float, offset) -> list[Mesh]:
    t = np.radians(np.linspace(-82, 82, 65))
    notch = 0.0035 * np.abs(np.sin(t * 7.0)) ** 0.35
    swell = 1 + 0.03 * np.abs(np.cos(t * 7.0))
    levels = np.linspace(0, 1, 7)[:, None]
    y = root + (edge - root) * levels + np.sign(root - edge) * (0.0035 - notch) * (levels > 0.9)
    bulge = 1 + 0.05 * np.sin(np.pi * levels)
    r = 0.098 * swell * bulge
    p = np.stack([r * np.sin(t), y + 0 * t, depth - 0.105 + (r + 0.007) * np.cos(t)], -1)
    gum = np.array([0.72, 0.36, 0.36])
    enamel = np.array([0.97, 0.95, 0.90]) * (0.78 + 0.22 * np.abs(np.cos(t * 7.0))[:, None] ** 0.3)
    paint = np.where((levels < 0.2)[..., None], gum, enamel)
    mesh = grid(name, node, "teeth", p * HEAD_M + offset, flip=root > edge, colors=paint**2.2)
    return [mesh]


def ears(who: str, skin) -> list[Mesh]:
    out = []
    for side, sign in SIDES:
        outer = ball(f"{who}_ear_{side}", f"{who}_head", f"plain_skin_{who}", np.array([0.035, 0.085, 0.055]) * HEAD_M)
        outer.moved(turn=turned(-12, sign * 24, 0), by=HEAD_AT + np.array([sign * 0.395, -0.02, -0.02]) * HEAD_M)
        inner = ball("inner", f"{who}_head", f"plain_skin_{who}", np.array([0.022, 0.055, 0.030]) * HEAD_M)
        inner.moved(turn=turned(-12, sign * 24, 0), by=HEAD_AT + np.array([sign * 0.418, -0.02, 0.0]) * HEAD_M)
        outer.colors = np.broadcast_to(np.asarray(skin) ** 2.2, outer.positions.shape).copy()
        inner.colors = np.broadcast_to((np.asarray(skin) * (0.9, 0.62, 0.55)) ** 2.2, inner.positions.shape).copy()
        out.append(joined(outer.name, outer.node, outer.material, [outer, inner]))
    return out


def _scalp(looks: Looks, azimuth: np.ndarray, fall: np.ndarray, lift: np.ndarray) -> np.ndarray:
    """Points over the scalp: azimuth 0 = front, fall = angle from the crown (radians), lift above the skin."""
    tilt = turned(x=-14)
    ray = np.stack([np.sin(fall) * np.sin(azimuth), np.cos(fall), np.sin(fall) * np.cos(azimuth)], -1) @ tilt.T
    start = np.array([0, 0.05, -0.02])
    return sculpt._hit(ray, looks, start=start, field=sculpt._bare) + ray * lift[..., None]


def bob(who: str, looks: Looks, tone, seed: int) -> list[Mesh]:
    """A wavy bob: a cap of hair, and locks that fall from the parting to the jaw."""
    rng = np.random.default_rng(seed)
    azimuth = np.linspace(-np.pi, np.pi, 65)
    reach = np.interp(np.abs(azimuth), [0, 0.5, 0.9, 1.25, 1.6, 2.2, np.pi], [0.86, 0.88, 1.12, 1.62, 1.95, 2.2, 2.25])
    levels = np.linspace(0.02, 1, 22)[:, None]
    lift = 0.035 + 0.055 * np.sin(np.pi * np.clip(levels, 0, 1) * 0.6) + 0 * azimuth
    lift = lift * np.clip((1.02 - levels) / 0.05, 0, 1) ** 0.5
    cap = grid(
        f"{who}_hair_cap",
        f"{who}_head",
        f"hair_{who}",
        _scalp(looks, azimuth + 0 * levels, levels * reach, lift) * HEAD_M + HEAD_AT,
        flip=True,
    )
    cap.colors = np.broadcast_to((np.asarray(tone) * 0.78) ** 2.2, cap.positions.shape).copy()
    locks = [_lock(who, looks, a, tone, rng) for a in np.concatenate([np.linspace(0.62, np.pi, 34), -np.linspace(0.62, np.pi, 34)])]
    fringe = [_fringe(who, looks, k, tone, rng) for k in range(17)]
    return [cap, joined(f"{who}_locks", f"{who}_head", f"hair_{who}", locks + fringe)]


def _lock(who: str, looks: Looks, azimuth: float, tone, rng) -> Mesh:
    t = np.linspace(0, 1, 17)
    end = np.interp(abs(azimuth), [0.6, 1.0, 1.5, 2.4, np.pi], [1.75, 2.02, 2.22, 2.42, 2.45]) + rng.uniform(-0.10, 0.06)
    sway = azimuth + np.sign(azimuth) * 0.10 * t + 0.07 * np.sin(t * rng.uniform(7, 11) + rng.uniform(0, 6)) * t
    lift = 0.06 + 0.075 * np.sin(np.pi * np.clip(t * 0.8, 0, 1)) + 0.11 * t**3 + rng.uniform(-0.012, 0.022)
    path = _scalp(looks, sway, 0.12 + t * (end - 0.12), lift)
    thick = 0.046 * (0.25 + np.sin(np.pi * (0.12 + 0.80 * t))) * np.clip((1.04 - t) / 0.25, 0, 1) ** 0.6 * rng.uniform(0.8, 1.15)
    mesh = tube("lock", f"{who}_head", f"hair_{who}", path * HEAD_M + HEAD_AT, thick * HEAD_M, around=6, flat=1.3)
    shade = np.asarray(tone) * rng.uniform(0.80, 1.18)
    mesh.colors = np.broadcast_to(np.clip(shade, 0, 1) ** 2.2, mesh.positions.shape).copy()
    return mesh


def _fringe(who: str, looks: Looks, k: int, tone, rng) -> Mesh:
    """Swept from a parting on the own left over the forehead to the right."""
    t = np.linspace(0, 1, 16)
    start = np.interp(k, [0, 16], [0.42, -0.30])
    stop = np.interp(k, [0, 16], [0.98, -1.15]) if k < 4 else np.interp(k, [4, 16], [-0.30, -1.12])
    azimuth = start + (stop - start) * t**0.8
    fall = np.interp(k, [0, 16], [0.16, 0.10]) + t * (np.interp(abs(stop), [0, 0.4, 1.15], [0.88, 0.93, 1.36]) + rng.uniform(-0.03, 0.03))
    lift = 0.065 + 0.065 * np.sin(np.pi * t * 0.85) + 0.02 * t + rng.uniform(-0.006, 0.012)
    thick = 0.050 * (0.30 + np.sin(np.pi * (0.08 + 0.84 * t))) * np.clip((1.04 - t) / 0.22, 0, 1) ** 0.6
    mesh = tube(
        "fringe", f"{who}_head", f"hair_{who}", _scalp(looks, azimuth, fall, lift) * HEAD_M + HEAD_AT, thick * HEAD_M, around=6, flat=1.35
    )
    shade = np.asarray(tone) * rng.uniform(0.86, 1.22)
    mesh.colors = np.broadcast_to(np.clip(shade, 0, 1) ** 2.2, mesh.positions.shape).copy()
    return mesh


def cap(who: str, looks: Looks, hair_tone, seed: int) -> list[Mesh]:
    """A ribbed wool cap with a turned-up brim, and hair that shows under it."""
    rng = np.random.default_rng(seed)
    azimuth = np.linspace(-np.pi, np.pi, 91)
    edge = np.interp(np.abs(azimuth), [0, 0.8, 1.6, np.pi], [0.93, 1.02, 1.28, 1.52])
    levels = np.linspace(0.0, 1, 15)[:, None]
    ribs = 0.010 * np.abs(np.sin(azimuth * 22))
    lift = 0.055 + 0.05 * np.cos(levels * np.pi / 2) + ribs * levels
    dome = grid(
        f"{who}_cap",
        f"{who}_head",
        f"wool_{who}",
        _scalp(looks, azimuth + 0 * levels, np.maximum(levels * edge, 0.01), lift) * HEAD_M + HEAD_AT,
        flip=True,
    )
    dome.uv = dome.uv * np.array([14, 4])
    roll = np.linspace(0, 1, 10)[:, None]
    lift = -0.01 + (0.085 + ribs) * np.sin(np.pi * roll) ** 0.55
    brim = grid(
        f"{who}_brim",
        f"{who}_head",
        f"wool_{who}",
        _scalp(looks, azimuth + 0 * roll, edge + 0.09 - 0.27 * (1 - roll), lift) * HEAD_M + HEAD_AT,
        flip=True,
    )
    brim.uv = brim.uv * np.array([14, 1.5])
    bobble = ball(f"{who}_bobble", f"{who}_head", f"wool_{who}", 0.075 * HEAD_M).moved(by=HEAD_AT + np.array([0, 0.635, -0.13]) * HEAD_M)
    tufts = [_tuft(who, looks, a, hair_tone, rng) for a in np.concatenate([np.linspace(1.12, np.pi, 26), -np.linspace(1.12, np.pi, 26)])]
    return [dome, brim, bobble, joined(f"{who}_tufts", f"{who}_head", f"hair_{who}", tufts)]


def _tuft(who: str, looks: Looks, azimuth: float, tone, rng) -> Mesh:
    t = np.linspace(0, 1, 10)
    top = np.interp(abs(azimuth), [0, 0.8, 1.6, np.pi], [0.93, 1.02, 1.28, 1.52])
    end = np.interp(abs(azimuth), [1.1, 1.4, 1.9, np.pi], [1.72, 1.72, 1.95, 2.2]) + rng.uniform(-0.05, 0.05)
    path = _scalp(looks, azimuth + 0.08 * rng.normal() * t, top + t * (end - top), 0.018 + 0.035 * np.sin(np.pi * (0.2 + 0.7 * t)))
    thick = 0.036 * (1.05 - 0.75 * t)
    mesh = tube("tuft", f"{who}_head", f"hair_{who}", path * HEAD_M + HEAD_AT, thick * HEAD_M, around=5, flat=1.4)
    mesh.colors = np.broadcast_to((np.asarray(tone) * rng.uniform(0.85, 1.2)) ** 2.2, mesh.positions.shape).copy()
    return mesh


def beard(who: str, looks: Looks, tone, seed: int) -> Mesh:
    """A short beard along the jaw: part of the head's own sheet, lifted, so that it goes with every shape of the mouth."""
    sh = sculpt.sheet(looks)
    rng = np.random.default_rng(seed)
    p = sh.points
    low = sculpt._smooth(sh.s - sh.lip, 0.135, 0.185) * sculpt._smooth(-np.sin(sh.theta), -0.16, 0.12)
    side = (
        sculpt._smooth(np.abs(p[..., 0]), 0.295, 0.345) * sculpt._smooth(-p[..., 1], -0.06, 0.02) * sculpt._smooth(p[..., 2], -0.04, 0.03)
    )
    grown = np.maximum(low * sculpt._smooth(-p[..., 1], 0.16, 0.24), side) * sculpt._smooth(p[..., 2], -0.06, 0.02)
    out = sculpt._unit(p - np.array([0, -0.1, 0.0]))
    length = (0.030 + 0.016 * np.sin(sh.theta * 41) * np.sin(sh.s * 60) + 0.008 * rng.normal(size=sh.s.shape)) * grown
    lifted = p + out * (length - 0.004)[..., None] + np.array([0, -0.35, 0]) * length[..., None]
    mesh = grid(f"{who}_beard", f"{who}_head", f"hair_{who}", lifted)
    keep = (grown.reshape(-1) > 0.03)[mesh.faces].all(axis=1)
    mesh.faces = mesh.faces[keep][:, ::-1]
    mesh.positions = mesh.positions * HEAD_M + HEAD_AT
    shade = (0.82 + 0.22 * rng.random(sh.s.shape))[..., None] * np.asarray(tone)
    mesh.colors = shade.reshape(-1, 3) ** 2.2
    mesh.morphs = {k: (m * HEAD_M).reshape(-1, 3) for k, m in sculpt.shapes(sh, looks).items()}
    return _compact(mesh)


def _compact(mesh: Mesh) -> Mesh:
    used, faces = np.unique(mesh.faces, return_inverse=True)
    mesh.faces = faces.reshape(-1, 3)
    mesh.positions, mesh.colors = mesh.positions[used], mesh.colors[used]
    mesh.uv = None if mesh.uv is None else mesh.uv[used]
    mesh.morphs = {k: m[used] for k, m in mesh.morphs.items()}
    return mesh


def skull(who: str, looks: Looks, **kind) -> Mesh:
    """The head's mesh in the head node's frame, metres."""
    mesh = sculpt.head_mesh(who, looks, **kind)
    mesh.positions = mesh.positions * HEAD_M + HEAD_AT
    mesh.morphs = {k: m * HEAD_M for k, m in mesh.morphs.items()}
    return mesh


def neck(who: str, skin) -> Mesh:
    mesh = lathe(
        f"{who}_neck_mesh", f"{who}_neck", f"plain_skin_{who}", [(0.05, -0.03), (0.041, 0.02), (0.040, 0.06), (0.044, 0.10)], around=24
    )
    mesh.colors = np.broadcast_to((np.asarray(skin) * 0.93) ** 2.2, mesh.positions.shape).copy()
    return mesh
