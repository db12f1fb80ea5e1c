"""Small mesh kit: every shape is arrays of vertices and triangles. Metres, y up, right-handed; a face is seen counter-clockwise."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

Vec = np.ndarray


@dataclass
class Mesh:
    """One drawable, hung under a node of the rig.

    positions : [n, 3] in the node's frame; uv : [n, 2]; colors : [n, 3] linear 0..1, multiplies the material
    morphs : name -> [n, 3] offsets at weight 1
    """

    name: str
    node: str
    material: str
    positions: Vec
    faces: Vec
    uv: Vec | None = None
    colors: Vec | None = None
    morphs: dict[str, Vec] = field(default_factory=dict)

    def moved(self, *, scale=(1, 1, 1), by=(0, 0, 0), turn: Vec | None = None) -> Mesh:
        points = self.positions * np.asarray(scale, float)
        if turn is not None:
            points = points @ np.asarray(turn).T
        self.positions = points + np.asarray(by, float)
        if np.prod(np.sign(np.asarray(scale, float))) < 0:
            self.faces = self.faces[:, ::-1]
        return self


def normals(points: Vec, faces: Vec) -> Vec:
    """Area-weighted vertex normals; coincident vertices (seams) share theirs."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    each = np.cross(b - a, c - a)
    out = np.zeros_like(points)
    for k in range(3):
        np.add.at(out, faces[:, k], each)
    _, same = np.unique(np.round(points, 6), axis=0, return_inverse=True)
    shared = np.zeros((same.max() + 1, 3))
    np.add.at(shared, same.ravel(), out)
    out = shared[same.ravel()]
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)


def grid_faces(rows: int, cols: int, *, wrap: bool = False) -> Vec:
    """Two triangles a cell over rows x cols vertices in row order; `wrap` closes the columns."""
    i, j = np.meshgrid(np.arange(rows - 1), np.arange(cols if wrap else cols - 1), indexing="ij")
    k = (j + 1) % cols
    a, b, c, d = i * cols + j, i * cols + k, (i + 1) * cols + k, (i + 1) * cols + j
    return np.concatenate([np.stack(t, -1).reshape(-1, 3) for t in ((a, b, c), (a, c, d))])


def grid(name: str, node: str, material: str, points: Vec, *, flip: bool = False, colors: Vec | None = None) -> Mesh:
    """A sheet from points [rows, cols, 3]; uv runs 0..1 along columns and rows."""
    rows, cols = points.shape[:2]
    u, v = np.meshgrid(np.linspace(0, 1, cols), np.linspace(0, 1, rows))
    faces = grid_faces(rows, cols)
    paint = None if colors is None else np.broadcast_to(colors, points.shape).reshape(-1, 3)
    return Mesh(name, node, material, points.reshape(-1, 3), faces[:, ::-1] if flip else faces, np.stack([u, v], -1).reshape(-1, 2), paint)


def ball(name: str, node: str, material: str, radii, *, around: int = 24, up: int = 16) -> Mesh:
    """An ellipsoid with poles on y."""
    r = np.broadcast_to(np.asarray(radii, float), (3,))
    lat = np.linspace(-np.pi / 2, np.pi / 2, up)[:, None]
    lon = np.linspace(0, 2 * np.pi, around + 1)[None, :]
    p = np.stack([np.cos(lat) * np.sin(lon), np.sin(lat) + 0 * lon, np.cos(lat) * np.cos(lon)], -1) * r
    return grid(name, node, material, p)


def lathe(name: str, node: str, material: str, profile, *, around: int = 28, squash=(1.0, 1.0), tile=(1.0, 1.0)) -> Mesh:
    """Turn (radius, y) pairs about y, bottom to top; squash scales x and z."""
    prof = np.asarray(profile, float)
    lon = np.linspace(0, 2 * np.pi, around + 1)[None, :]
    r, y = prof[:, :1], prof[:, 1:]
    p = np.stack([r * np.sin(lon) * squash[0], y + 0 * lon, r * np.cos(lon) * squash[1]], -1)
    mesh = grid(name, node, material, p)
    mesh.uv = mesh.uv * np.asarray(tile)
    return mesh


def tube(name: str, node: str, material: str, path, radius, *, around: int = 10, flat: float = 1.0, closed_ends: bool = True) -> Mesh:
    """A tube along points [k, 3]; radius is a number or one a point; `flat` scales it across."""
    p = np.asarray(path, float)
    r = np.broadcast_to(np.asarray(radius, float), (len(p),)).copy()
    if closed_ends:
        step0, step1 = p[0] - p[1], p[-1] - p[-2]
        p = np.vstack([p[0] + step0 / np.linalg.norm(step0) * r[0] * 0.6, p, p[-1] + step1 / np.linalg.norm(step1) * r[-1] * 0.6])
        r = np.concatenate([[1e-5], r, [1e-5]])
    along = np.gradient(p, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    ref = np.array([0.03, 0.05, 1.0]) if np.abs(along[:, 2]).max() < 0.97 else np.array([1.0, 0.06, 0.03])
    side = np.cross(along, ref)
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    out = np.cross(side, along)
    lon = np.linspace(0, 2 * np.pi, around + 1)[None, :, None]
    ring = np.cos(lon) * side[:, None] * flat + np.sin(lon) * out[:, None]
    return grid(name, node, material, p[:, None] + ring * r[:, None, None], flip=True)


def box(name: str, node: str, material: str, size, *, by=(0, 0, 0), cuts: int = 1) -> Mesh:
    """An axis-aligned box with its own face normals; each face has uv 0..1."""
    half = np.asarray(size, float) / 2
    parts = []
    for axis in range(3):
        for sign in (-1, 1):
            u, v = np.meshgrid(np.linspace(-1, 1, cuts + 1), np.linspace(-1, 1, cuts + 1))
            p = np.zeros((*u.shape, 3))
            p[..., axis], p[..., (axis + 1) % 3], p[..., (axis + 2) % 3] = sign, u, v
            parts.append(grid(name, node, material, p * half * 0.99999 ** (axis + 1), flip=sign < 0))
    return joined(name, node, material, parts).moved(by=by)


def joined(name: str, node: str, material: str, parts: list[Mesh]) -> Mesh:
    """Several shapes as one drawable."""
    starts = np.cumsum([0, *(len(p.positions) for p in parts)])
    uv = np.vstack([p.uv if p.uv is not None else np.zeros((len(p.positions), 2)) for p in parts])
    colors = None
    if any(p.colors is not None for p in parts):
        colors = np.vstack([p.colors if p.colors is not None else np.ones_like(p.positions) for p in parts])
    faces = np.vstack([p.faces + s for p, s in zip(parts, starts, strict=False)])
    return Mesh(name, node, material, np.vstack([p.positions for p in parts]), faces, uv, colors)


def turned(x: float = 0, y: float = 0, z: float = 0) -> Vec:
    """Rotation matrix from degrees, applied z first, then x, then y."""
    a, b, c = np.radians([x, y, z])
    rx = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    ry = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    rz = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return ry @ rx @ rz
