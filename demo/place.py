# ruff: noqa: E501 -- one curve or one fault a line reads best
"""The jetty on the lighthouse island: boards, posts, crates, rope, the tower with its dark lamp, rocks, islands, a boat. All under 'Place'."""

from __future__ import annotations

import numpy as np

from bodies import crate
from meshes import Mesh, ball, box, grid, joined, lathe, tube, turned
from textures import noise

TOWER_AT = (-5.4, 0.2, -11.5)
BOAT_AT = (-13.2, -0.50, -13.4)


def jetty() -> list[Mesh]:
    rows = np.linspace(-1.6, 3.0, 12)
    cols = np.linspace(-3.4, 3.4, 12)
    x, z = np.meshgrid(cols, rows)
    deck = grid("deck", "Place", "planks", np.stack([x, 0 * x, z], -1), flip=True)
    deck.uv = np.stack([x, z], -1).reshape(-1, 2) * 0.75
    edge = box("edge", "Place", "planks", (6.8, 0.16, 0.08)).moved(by=(0, -0.07, -1.62))
    posts = [
        lathe("post", "Place", "planks", [(0.075, -0.9), (0.072, 0.5), (0.078, 0.82), (0.05, 0.86), (0.0, 0.865)], around=14).moved(
            by=(px, 0, -1.52)
        )
        for px in (-2.6, -1.45, -0.3, 0.95, 2.2)
    ]
    ropes = [_rope((a, 0.70, -1.44), (b, 0.70, -1.44), 0.20) for a, b in ((-2.6, -1.45), (-1.45, -0.3), (-0.3, 0.95), (0.95, 2.2))]
    return [deck, edge, joined("posts", "Place", "planks", posts), joined("ropes", "Place", "rope", ropes)]


def _rope(a, b, sag: float) -> Mesh:
    t = np.linspace(0, 1, 17)[:, None]
    path = np.asarray(a) + (np.asarray(b) - np.asarray(a)) * t
    path[:, 1] -= sag * 4 * (t * (1 - t))[:, 0]
    return tube("rope", "Place", "rope", path, 0.016, around=8)


def tower() -> list[Mesh]:
    """The lighthouse, whose lamp is out."""
    wall = lathe(
        "tower",
        "Place",
        "stone",
        [(1.25, -0.6), (1.16, 1.0), (1.02, 3.0), (0.90, 5.0), (0.86, 5.6), (1.10, 5.75), (1.12, 5.85), (0.6, 5.9)],
        around=40,
        tile=(6, 2.4),
    )
    room = lathe("lamp_room", "Place", "dark_glass", [(0.55, 5.88), (0.55, 6.7)], around=16)
    roof = lathe("roof", "Place", "roof", [(0.72, 6.68), (0.66, 6.80), (0.35, 7.15), (0.10, 7.34), (0.07, 7.5), (0.0, 7.56)], around=24)
    rail = [
        tube(
            "rail",
            "Place",
            "iron",
            [[1.08 * np.sin(a), 5.86, 1.08 * np.cos(a)], [1.08 * np.sin(a), 6.25, 1.08 * np.cos(a)]],
            0.022,
            around=6,
        )
        for a in np.linspace(0, 2 * np.pi, 20)[:-1]
    ]
    t = np.linspace(0, 2 * np.pi, 33)
    rail.append(
        tube("ring", "Place", "iron", np.stack([1.08 * np.sin(t), 6.25 + 0 * t, 1.08 * np.cos(t)], -1), 0.025, around=6, closed_ends=False)
    )
    window = [box("window", "Place", "dark_glass", (0.26, 0.42, 0.1)).moved(by=(0.25, y, r)) for y, r in ((1.7, 1.09), (3.6, 0.96))]
    parts = [wall, room, roof, joined("rail", "Place", "iron", rail), joined("windows", "Place", "dark_glass", window)]
    return [p.moved(by=TOWER_AT) for p in parts]


def _boulder(name: str, at, size, seed: int) -> Mesh:
    mesh = ball(name, "Place", "rock", 1.0, around=18, up=12)
    bumps = noise((12, 18), seed, cells=4, octaves=2)
    bumps = np.hstack([bumps, bumps[:, :1]])
    bumps[0], bumps[-1] = bumps[0].mean(), bumps[-1].mean()
    mesh.positions = mesh.positions * (0.72 + 0.55 * bumps.reshape(-1, 1))
    return mesh.moved(scale=size, turn=turned(y=seed * 37.0)).moved(by=at)


def shore() -> list[Mesh]:
    rng = np.random.default_rng(3)
    rocks = [
        _boulder(
            "r",
            (TOWER_AT[0] + rng.uniform(-4.2, 3.6), -0.75 + rng.uniform(-0.1, 0.1), TOWER_AT[2] + rng.uniform(-0.5, 3.0)),
            rng.uniform(0.7, 1.5, 3) * (1.3, 0.75, 1),
            k,
        )
        for k in range(15)
    ]
    rocks += [
        _boulder("big", (TOWER_AT[0], -1.0, TOWER_AT[2] - 0.4), (4.6, 1.6, 3.0), 40),
        _boulder("n", (2.9, -0.62, -4.6), (0.8, 0.42, 0.6), 41),
        _boulder("n", (3.8, -0.62, -5.3), (0.6, 0.5, 0.5), 42),
    ]
    far = [
        _boulder("isle", (x, -2.2, z), size, s)
        for x, z, size, s in (
            (14, -46, (11, 4.6, 4), 50),
            (27, -50, (9, 3.4, 4), 51),
            (-30, -52, (16, 6.5, 4), 52),
            (3, -54, (6, 2.9, 3), 53),
        )
    ]
    return [joined("rocks", "Place", "rock", rocks), joined("isles", "Place", "isle", far)]


def boat() -> list[Mesh]:
    """Far out, with a light at the mast that answers at the end."""
    u, v = np.meshgrid(np.linspace(-1, 1, 21), np.linspace(-1, 1, 11))
    width = 0.42 * (1 - np.abs(u) ** 2.6)
    hull = grid(
        "hull",
        "Boat",
        "hull",
        np.stack([u * 1.25, 0.16 + 0.22 * np.abs(u) ** 2.4 - 0.40 * (1 - np.abs(v) ** 2.2) * (1 - 0.5 * u**2), v * width], -1),
    )
    mast = tube("mast", "Boat", "hull", [[0.1, 0, 0], [0.1, 1.6, 0]], 0.03, around=6)
    cabin = box("cabin", "Boat", "hull", (0.6, 0.45, 0.4)).moved(by=(-0.35, 0.35, 0))
    u, v = np.meshgrid(np.linspace(0, 1, 9), np.linspace(0, 1, 9))
    sail = grid("sail", "Boat", "sail", np.stack([0.16 + u * 0.85 * (1 - v), 0.3 + v * 1.2, 0.12 * np.sin(np.pi * u) * (1 - v)], -1))
    return [joined("boat", "Boat", "hull", [hull, mast, cabin]), sail, ball("Boat_light_mesh", "Boat_light", "boat_light", 0.055)]


def seats() -> list[Mesh]:
    return [*crate("crate_Oona", (-0.44, 0.16, -0.13), 12, size=(0.44, 0.32, 0.40)), *crate("crate_Bram", (0.47, 0.16, 0.10), -14, size=(0.44, 0.32, 0.40)),
            *crate("crate_far", (1.35, 0.18, -0.75), 30), *crate("crate_top", (1.38, 0.50, -0.78), 8, size=(0.34, 0.26, 0.30)),
            lathe("barrel", "Place", "crate", [(0.0, 0.0), (0.17, 0.0), (0.215, 0.22), (0.215, 0.32), (0.17, 0.54), (0.155, 0.54), (0.15, 0.51), (0.0, 0.51)], around=28, tile=(3, 1)).moved(by=(-1.5, 0, -0.7))]  # fmt: skip


def everything() -> list[Mesh]:
    return [*jetty(), *tower(), *shore(), *boat(), *seats()]
