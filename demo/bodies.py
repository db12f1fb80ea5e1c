"""Bodies, clothes, hands and the lantern."""

from __future__ import annotations

import numpy as np

from meshes import Mesh, ball, box, joined, lathe, tube, turned
from rig import FOREARM_M, SHIN_M, SIDES, THIGH_M, UPPER_ARM_M

GRIP_HALF_M = 0.045
"""Half the length of the lantern's wooden grip."""


def torso(who: str, *, broad: float, coat: str) -> list[Mesh]:
    """Chest and skirt of a coat; the chest's own node breathes."""
    chest = lathe(
        f"{who}_chest_mesh", f"{who}_ribs", coat,
        [(0.118, -0.19), (0.122, -0.12), (0.128, -0.04), (0.135, 0.03), (0.134, 0.08), (0.118, 0.125), (0.085, 0.155), (0.055, 0.178), (0.045, 0.185)],
        around=48, squash=(broad, 0.80), tile=(6, 3),
    )  # fmt: skip
    skirt = lathe(
        f"{who}_skirt", f"{who}_hips", coat,
        [(0.165, -0.10), (0.163, -0.05), (0.148, 0.0), (0.130, 0.06), (0.120, 0.12)], around=48, squash=(broad, 0.92), tile=(6, 2),
    )  # fmt: skip
    return [chest, skirt]


def collar(who: str, material: str, *, radius: float, thick: float) -> Mesh:
    """A scarf: a torus with a soft sag and one tail."""
    t = np.linspace(0, 2 * np.pi, 49)
    path = np.stack([radius * np.sin(t), 0.165 - 0.016 * np.cos(t), radius * 0.92 * np.cos(t)], -1)
    ring = tube("ring", f"{who}_chest", material, path, thick * (1 + 0.08 * np.sin(t * 5)), around=14, closed_ends=False)
    fall = np.linspace(0, 1, 12)
    path = np.stack([0.03 + 0.012 * fall, 0.155 - 0.13 * fall, radius + 0.022 + 0.030 * np.sin(fall * 1.9)], -1)
    tail = tube("tail", f"{who}_chest", material, path, thick * (1 + 0.35 * fall), around=14, flat=1.5)
    for part, tile in ((ring, (4, 16)), (tail, (4, 5))):
        part.uv = part.uv * np.asarray(tile)
    return joined(f"{who}_scarf", f"{who}_chest", material, [ring, tail])


def buttons(who: str, material: str) -> Mesh:
    row = [
        ball("b", f"{who}_ribs", material, (0.009, 0.009, 0.004), around=12, up=8).moved(by=(0.0, y, z))
        for y, z in ((0.06, 0.109), (-0.01, 0.107), (-0.08, 0.101))
    ]
    return joined(f"{who}_buttons", f"{who}_ribs", material, row)


def limbs(who: str, *, coat: str, trousers: str, boots: str, broad: float) -> list[Mesh]:
    out = []
    for side, _sign in SIDES:
        sleeve = [
            (0.0, -UPPER_ARM_M - 0.030),
            (0.030, -UPPER_ARM_M - 0.015),
            (0.043, -UPPER_ARM_M + 0.01),
            (0.048, -0.08),
            (0.057, -0.02),
            (0.054, 0.02),
            (0.034, 0.048),
            (0.0, 0.056),
        ]
        cuff = [
            (0.036, -FOREARM_M + 0.018),
            (0.047, -FOREARM_M + 0.022),
            (0.047, -FOREARM_M + 0.05),
            (0.042, -0.06),
            (0.043, 0.0),
            (0.030, 0.03),
            (0.0, 0.04),
        ]
        out.append(lathe(f"{who}_sleeve_{side}", f"{who}_arm_{side}", coat, sleeve, around=24, squash=(broad * 0.92, 1), tile=(3, 3)))
        out.append(lathe(f"{who}_cuff_{side}", f"{who}_forearm_{side}", coat, cuff, around=24, tile=(3, 3)))
        thigh = [(0.0, -THIGH_M - 0.060), (0.040, -THIGH_M - 0.045), (0.060, -THIGH_M), (0.068, -0.12), (0.080, -0.02), (0.07, 0.05)]
        out.append(lathe(f"{who}_thigh_{side}_mesh", f"{who}_thigh_{side}", trousers, thigh, around=24, tile=(3, 3)))
        shin = [(0.050, -SHIN_M), (0.052, -0.12), (0.060, -0.04), (0.058, 0.0), (0.0, 0.05)]
        out.append(lathe(f"{who}_shin_{side}", f"{who}_knee_{side}", trousers, shin, around=24, tile=(3, 3)))
        out.append(_boot(who, side, boots))
    return out


def _boot(who: str, side: str, material: str) -> Mesh:
    node = f"{who}_foot_{side}"
    leg = lathe(
        "leg", node, material, [(0.06, -0.07), (0.058, 0.0), (0.060, 0.09), (0.066, 0.095), (0.066, 0.11), (0.05, 0.112)], around=20
    )
    toe = ball("toe", node, material, (0.058, 0.05, 0.10)).moved(by=(0, -0.06, 0.05))
    toe.positions[:, 1] = np.maximum(toe.positions[:, 1], -0.09)
    return joined(f"{who}_boot_{side}", node, material, [leg, toe])


def hand(who: str, side: str, *, grip: bool, skin) -> Mesh:
    """A stylised hand that hangs along -y with the palm to +z. In a grip, fingers close about the x axis 0.055 m below the wrist."""
    node = f"{who}_hand_{side}"
    sign = 1.0 if side == "left" else -1.0
    material = f"plain_skin_{who}"
    palm = ball("palm", node, material, (0.036, 0.044, 0.019)).moved(by=(0, -0.035, -0.010))
    parts = [palm]
    for k in range(4):
        x = (k - 1.5) * 0.0175
        parts.append(_finger(node, material, x, grip, 1.0 - 0.10 * abs(k - 1.3)))
    thumb = np.array([[sign * -0.030, -0.02, 0.0], [sign * -0.040, -0.042, 0.014], [sign * -0.030, -0.062, 0.027 if grip else 0.02]])
    parts.append(tube("thumb", node, material, thumb, [0.013, 0.0115, 0.010], around=12))
    out = joined(f"{who}_hand_{side}_mesh", node, material, parts)
    out.colors = np.broadcast_to(np.asarray(skin) ** 2.2, out.positions.shape).copy()
    return out


def _finger(node: str, material: str, x: float, grip: bool, size: float) -> Mesh:
    if grip:
        t = np.radians(np.linspace(190, -20, 12))
        centre, r = np.array([x, -0.062, 0.006]), 0.0205
        path = np.stack(
            [
                np.full(12, x),
                centre[1] - r * np.sin(np.linspace(0.15, 1, 12) * np.pi),
                centre[2] - r * np.cos(np.linspace(0.15, 1.08, 12) * np.pi),
            ],
            -1,
        )
        del t
        return tube("finger", node, material, path, np.linspace(0.0105, 0.0088, 12) * size, around=12)
    path = np.array([[x, -0.055, -0.008], [x * 1.05, -0.085, 0.0], [x * 1.05, -0.108 * size, 0.016]])
    return tube("finger", node, material, path, np.array([0.0105, 0.0098, 0.0082]) * size, around=12)


def lantern() -> list[Mesh]:
    """A storm lantern. 'Lantern' is the wooden grip, along x; 'Lantern_body' swings under it."""
    grip = tube("grip", "Lantern", "wood", [[-GRIP_HALF_M, 0, 0], [0, 0, 0], [GRIP_HALF_M, 0, 0]], 0.0105, around=14)
    knobs = [
        ball("knob", "Lantern", "brass", (0.008, 0.0135, 0.0135), around=16, up=10).moved(by=(s * (GRIP_HALF_M + 0.004), 0, 0))
        for s in (-1, 1)
    ]
    t = np.linspace(0, np.pi, 25)
    bail = np.stack([0.058 * np.cos(t), -0.105 + 0.105 * np.sin(t) ** 0.55, 0 * t], -1)
    node = "Lantern_body"
    body = [
        tube("bail", node, "iron", bail, 0.0035, around=8),
        lathe(
            "hood",
            node,
            "brass",
            [
                (0.034, -0.128),
                (0.062, -0.122),
                (0.060, -0.112),
                (0.040, -0.098),
                (0.036, -0.085),
                (0.024, -0.078),
                (0.022, -0.068),
                (0.0, -0.062),
            ],
            around=32,
        ),
        lathe(
            "base",
            node,
            "brass",
            [(0.0, -0.252), (0.060, -0.250), (0.064, -0.243), (0.064, -0.228), (0.054, -0.220), (0.040, -0.214), (0.0, -0.213)],
            around=32,
        ),
    ]
    for k in range(6):
        a = np.radians(60 * k + 30)
        x, z = 0.053 * np.sin(a), 0.053 * np.cos(a)
        body.append(tube("bar", node, "brass", [[x, -0.222, z], [x * 1.06, -0.17, z * 1.06], [x, -0.120, z]], 0.003, around=6))
    flame = lathe(
        "Lantern_flame_mesh",
        "Lantern_flame",
        "flame",
        [
            (0.0, -0.012),
            (0.006, -0.010),
            (0.011, -0.004),
            (0.0135, 0.004),
            (0.0135, 0.012),
            (0.0115, 0.021),
            (0.0080, 0.030),
            (0.0042, 0.039),
            (0.0015, 0.046),
            (0.0, 0.050),
        ],
        around=16,
    )
    glass = lathe("Lantern_glass", node, "glass", [(0.040, -0.216), (0.047, -0.19), (0.047, -0.15), (0.036, -0.122)], around=28)
    metal = {m: [p for p in body if p.material == m] for m in ("iron", "brass")}
    out = [joined(f"Lantern_{m}", node, m, parts) for m, parts in metal.items()]
    return [joined("Lantern_grip", "Lantern", "wood", [grip]), joined("Lantern_knobs", "Lantern", "brass", knobs), *out, glass, flame]


def crate(name: str, at, yaw: float, *, size=(0.42, 0.36, 0.36)) -> list[Mesh]:
    core = box(name, "Place", "crate", size, cuts=1)
    w, h, d = size
    slats = [box("s", "Place", "crate", (w + 0.02, 0.05, d + 0.02)).moved(by=(0, s * (h / 2 - 0.025), 0)) for s in (-1, 1)]
    slats += [box("s", "Place", "crate", (0.05, h, 0.05)).moved(by=(sx * w / 2, 0, sz * d / 2)) for sx in (-1, 1) for sz in (-1, 1)]
    out = joined(name, "Place", "crate", [core, *slats])
    return [out.moved(turn=turned(y=yaw), by=at)]
