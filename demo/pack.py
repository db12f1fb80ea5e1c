"""Writes what the page reads: build/scene.json with scene.bin, and one JSON a take."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from meshes import Mesh, normals
from rig import Pose, Rig

EXPOSURE = 1.05


class _Bin:
    def __init__(self) -> None:
        self.parts: list[bytes] = []
        self.at = 0

    def put(self, values: np.ndarray, kind: str) -> dict[str, int]:
        data = np.ascontiguousarray(values, dtype=kind).tobytes()
        slot = {"at": self.at, "count": values.size}
        self.parts.append(data)
        self.at += len(data)
        return slot


def write_scene(folder: Path, name: str, rig: Rig, meshes: list[Mesh], cameras: list[dict], textures: list[str]) -> None:
    """NAME.json and NAME.bin. `cameras`: node and fov_y (degrees)."""
    folder.mkdir(parents=True, exist_ok=True)
    store = _Bin()
    listed = [_entry(store, mesh) for mesh in meshes]
    nodes = [{"name": n, "parent": p, "rest": [float(v) for v in rig.rest[n]]} for n, p in rig.parents.items()]
    scene = {"rig": nodes, "meshes": listed, "cameras": cameras, "textures": textures, "exposure": EXPOSURE}
    (folder / f"{name}.json").write_text(json.dumps(scene))
    (folder / f"{name}.bin").write_bytes(b"".join(store.parts))


def _entry(store: _Bin, mesh: Mesh) -> dict:
    base = normals(mesh.positions, mesh.faces)
    morphs = []
    for name, offset in mesh.morphs.items():
        bent = normals(mesh.positions + offset, mesh.faces) - base
        morphs.append({"name": name, "positions": store.put(offset, "<f4"), "normals": store.put(bent, "<f4")})
    return {
        "name": mesh.name, "node": mesh.node, "material": mesh.material, "morphs": morphs,
        "positions": store.put(mesh.positions, "<f4"), "normals": store.put(base, "<f4"),
        "uv": None if mesh.uv is None else store.put(mesh.uv, "<f4"),
        "colors": None if mesh.colors is None else store.put(mesh.colors, "<f4"),
        "tint": None if mesh.colors is None else [float(v) for v in mesh.colors.mean(axis=0)],
        "index": store.put(mesh.faces, "<u4"),
    }  # fmt: skip


def take_dict(pose: Pose, *, shots: list[dict], hidden: list[dict], time, flame, boat_light) -> dict:
    """Frames count from 0 here. Tracks are flat, rounded to a micrometre or a millionth."""
    flat = lambda a, digits=6: [round(float(v), digits) for v in np.asarray(a).ravel()]  # noqa: E731
    tracks: dict[str, dict] = {}
    for kind in ("move", "turn", "scale"):
        for node, values in getattr(pose, kind).items():
            tracks.setdefault(node, {})[kind] = flat(values, 7)
    morphs = {who: {k: flat(v) for k, v in m.items()} for who, m in pose.morphs.items()}
    return {"n": pose.n, "rate_num": 24, "rate_den": 1, "tracks": tracks, "morphs": morphs, "shots": shots, "hidden": hidden,
            "time": flat(time), "flame": flat(flame), "boat_light": flat(boat_light)}  # fmt: skip
