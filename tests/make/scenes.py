"""One small motion written as USD, glTF and BVH, and worked out by hand with scipy: three readers, one truth.

A body at the origin; on it a head that turns and walks, with eyes that tilt, irises before them, lips that part and corners that widen; a hand
that swings; and a camera that travels. Everything is linear in time (angles and places), so that linear keys give it exactly. Metres, y up.
"""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

SECONDS = 2.0
FOCAL_MM, BACK_MM = 35.0, (36.0, 20.25)
AXES = "xyz"


@dataclass(frozen=True)
class Part:
    """place + speed * t metres, and a turn of `start + rate * t` degrees about one axis, against the parent."""

    parent: str | None
    place: tuple[float, float, float]
    speed: tuple[float, float, float] = (0.0, 0.0, 0.0)
    axis: str = "y"
    start: float = 0.0
    rate: float = 0.0

    def at(self, t: float) -> tuple[np.ndarray, float]:
        return np.array(self.place) + np.array(self.speed) * t, self.start + self.rate * t


PARTS: dict[str, Part] = {
    "body": Part(None, (0.0, 0.0, 0.0)),
    "head": Part("body", (0.1, 1.6, 0.0), (0.05, 0.0, -0.02), "y", 0.0, 20.0),
    "eye_L": Part("head", (0.032, 0.02, 0.08), axis="x", rate=-8.0),
    "eye_R": Part("head", (-0.032, 0.02, 0.08), axis="x", rate=-8.0),
    "iris_L": Part("eye_L", (0.0, 0.0, 0.012)),
    "iris_R": Part("eye_R", (0.0, 0.0, 0.012)),
    "mouth_L": Part("head", (0.025, -0.06, 0.09), (0.005, 0.0, 0.0)),
    "mouth_R": Part("head", (-0.025, -0.06, 0.09), (-0.005, 0.0, 0.0)),
    "lip_up": Part("head", (0.0, -0.055, 0.1)),
    "lip_low": Part("head", (0.0, -0.065, 0.1), (0.0, -0.01, 0.0)),
    "head_top": Part("head", (0.0, 0.13, 0.0)),
    "chin": Part("head", (0.0, -0.1, 0.08)),
    "hand_R": Part("body", (-0.4, 1.0, 0.2), (0.1, 0.2, 0.0), "z", 10.0, 45.0),
}
CAMERA = Part(None, (0.3, 1.5, 2.5), (-0.1, 0.05, -0.2), "y", 5.0, -3.0)
CAST_SCENE = {
    "head": "head", "eye_left": "eye_L", "eye_right": "eye_R", "iris_left": "iris_L", "iris_right": "iris_R", "mouth_left": "mouth_L",
    "mouth_right": "mouth_R", "lip_upper": "lip_up", "lip_lower": "lip_low", "head_top": "head_top", "chin": "chin", "hand_right": "hand_R",
}  # fmt: skip


def local(part: Part, t: float) -> np.ndarray:
    place, degrees = part.at(t)
    out = np.eye(4)
    out[:3, :3] = Rotation.from_euler(part.axis, degrees, degrees=True).as_matrix()
    out[:3, 3] = place
    return out


def truth(name: str, t: float) -> np.ndarray:
    """World matrix of a part at a time, metres, y up."""
    part = CAMERA if name == "cam" else PARTS[name]
    own = local(part, t)
    return own if part.parent is None else truth(part.parent, t) @ own


def world(name: str, times: np.ndarray) -> np.ndarray:
    return np.array([truth(name, float(t)) for t in times])


# USD ------------------------------------------------------------------------------------------------------------------------------------


def write_usd(path: Path, *, rate: float = 24.0, start: float = 0.0, metres: float = 1.0, z_up: bool = False, lead: int = 0) -> Path:
    """Keys at every time code. lead : frames of handle before t = 0, in which the motion already runs."""
    from pxr import Gf, Usd, UsdGeom  # noqa: PLC0415

    stage = Usd.Stage.CreateNew(str(path))
    stage.SetTimeCodesPerSecond(rate)
    last = round(SECONDS * rate)
    stage.SetStartTimeCode(start - lead)
    stage.SetEndTimeCode(start + last)
    UsdGeom.SetStageMetersPerUnit(stage, metres)
    UsdGeom.SetStageUpAxis(stage, UsdGeom.Tokens.z if z_up else UsdGeom.Tokens.y)
    stand = UsdGeom.Xform.Define(stage, "/set")
    if z_up:  # what stands upright in y stands upright in z after a quarter turn about x
        stand.AddRotateXOp().Set(90.0)
    paths = {"cam": "/set/cam"}
    for name, part in PARTS.items():
        paths[name] = f"{paths[part.parent] if part.parent else '/set'}/{name}"
    for name, part in {**PARTS, "cam": CAMERA}.items():
        prim = (UsdGeom.Camera if name == "cam" else UsdGeom.Xform).Define(stage, paths[name])
        move, turn = prim.AddTranslateOp(), getattr(prim, f"AddRotate{part.axis.upper()}Op")()
        place, degrees = part.at(0.0)
        move.Set(Gf.Vec3d(*(place / metres)))
        turn.Set(degrees)
        for code in range(-lead, last + 1):
            place, degrees = part.at(code / rate)
            move.Set(Gf.Vec3d(*(place / metres)), start + code)
            turn.Set(degrees, start + code)
        if name == "cam":
            prim.CreateFocalLengthAttr(FOCAL_MM)
            prim.CreateHorizontalApertureAttr(BACK_MM[0])
            prim.CreateVerticalApertureAttr(BACK_MM[1])
    stage.GetRootLayer().Save()
    return path


# glTF -----------------------------------------------------------------------------------------------------------------------------------


class _Pack:
    """Accessors over one growing buffer."""

    def __init__(self) -> None:
        self.bytes = bytearray()
        self.views: list[dict] = []
        self.accessors: list[dict] = []

    def add(self, values: np.ndarray, kind: str) -> int:
        raw = np.ascontiguousarray(values, "<f4").tobytes()
        self.views.append({"buffer": 0, "byteOffset": len(self.bytes), "byteLength": len(raw)})
        self.bytes += raw
        flat = np.asarray(values).reshape(len(values), -1)
        self.accessors.append(
            {"bufferView": len(self.views) - 1, "componentType": 5126, "count": len(values), "type": kind,
             "min": flat.min(axis=0).tolist(), "max": flat.max(axis=0).tolist()}
        )  # fmt: skip
        return len(self.accessors) - 1


def gltf_document(*, rate: float = 24.0, how: str = "LINEAR") -> tuple[dict, bytes]:
    """The scene as a glTF document without a URI, and its buffer."""
    pack, keys = _Pack(), np.arange(round(SECONDS * rate) + 1) / rate
    clock = pack.add(keys[:, None], "SCALAR")
    everything = {**PARTS, "cam": CAMERA}
    names = list(everything)
    nodes: list[dict] = []
    samplers: list[dict] = []
    channels: list[dict] = []
    for index, (name, part) in enumerate(everything.items()):
        place, degrees = part.at(0.0)
        node = {"name": name, "translation": list(place), "rotation": list(Rotation.from_euler(part.axis, degrees, degrees=True).as_quat())}
        children = [names.index(other) for other, p in everything.items() if p.parent == name]
        nodes.append({**node, **({"children": children} if children else {}), **({"camera": 0} if name == "cam" else {})})
        for path, kind, values in _tracks(part, keys, how):
            samplers.append({"input": clock, "output": pack.add(values, kind), "interpolation": how})
            channels.append({"sampler": len(samplers) - 1, "target": {"node": index, "path": path}})
    fov = 2 * np.arctan(BACK_MM[1] / 2 / FOCAL_MM)
    document = {
        "asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [names.index("body"), names.index("cam")]}], "nodes": nodes,
        "cameras": [{"type": "perspective", "perspective": {"yfov": float(fov), "znear": 0.1}}],
        "animations": [{"samplers": samplers, "channels": channels}],
        "bufferViews": pack.views, "accessors": pack.accessors, "buffers": [{"byteLength": len(pack.bytes)}],
    }  # fmt: skip
    return document, bytes(pack.bytes)


def _tracks(part: Part, keys: np.ndarray, how: str):
    places = np.array([part.at(t)[0] for t in keys])
    turns = Rotation.from_rotvec(np.outer(np.radians([part.at(t)[1] for t in keys]), np.eye(3)[AXES.index(part.axis)])).as_quat()
    turns[1::3] *= -1  # a quaternion and its negative are one turn: readers take the shorter way
    if how == "CUBICSPLINE":
        speed = np.repeat(np.array(part.speed)[None], len(keys), axis=0)
        half = np.radians(part.rate) / 2
        angle = np.radians([part.at(t)[1] for t in keys]) / 2
        axis = np.eye(3)[AXES.index(part.axis)]
        turns = np.concatenate([np.sin(angle)[:, None] * axis, np.cos(angle)[:, None]], axis=1)
        swing = np.concatenate([half * np.cos(angle)[:, None] * axis, -half * np.sin(angle)[:, None]], axis=1)
        places, turns = np.stack([speed, places, speed], axis=1).reshape(-1, 3), np.stack([swing, turns, swing], axis=1)
        turns = turns.reshape(-1, 4)
    return [("translation", "VEC3", places), ("rotation", "VEC4", turns)]


def write_gltf(path: Path, *, rate: float = 24.0, how: str = "LINEAR", store: str = "data") -> Path:
    """store : 'data' (URI inside), 'beside' (a file), 'glb' (one binary file)."""
    document, raw = gltf_document(rate=rate, how=how)
    return save_gltf(path, document, raw, store=store)


def save_gltf(path: Path, document: dict, raw: bytes, *, store: str = "data") -> Path:
    if store == "glb":
        text = json.dumps(document).encode()
        text += b" " * (-len(text) % 4)
        raw += b"\0" * (-len(raw) % 4)
        chunks = len(text).to_bytes(4, "little") + b"JSON" + text + len(raw).to_bytes(4, "little") + b"BIN\0" + raw
        path.write_bytes(b"glTF" + (2).to_bytes(4, "little") + (12 + len(chunks)).to_bytes(4, "little") + chunks)
        return path
    if store == "beside":
        (path.parent / "key frames.bin").write_bytes(raw)
        document["buffers"][0]["uri"] = "key%20frames.bin"
    else:
        document["buffers"][0]["uri"] = "data:application/octet-stream;base64," + base64.b64encode(raw).decode()
    path.write_text(json.dumps(document))
    return path


# BVH ------------------------------------------------------------------------------------------------------------------------------------


def write_bvh(path: Path, *, rate: float = 24.0, metres: float = 1.0) -> Path:
    lines, order = ["HIERARCHY"], []
    _joint("body", 0, lines, order, metres)
    frames = round(SECONDS * rate) + 1
    lines += ["MOTION", f"Frames: {frames}", f"Frame Time: {1 / rate:.9f}"]
    for frame in range(frames):
        row = []
        for name in order:
            place, degrees = PARTS[name].at(frame / rate)
            turn = dict(zip("zxy", np.zeros(3), strict=True)) | {PARTS[name].axis: degrees}
            row += [*(place / metres), turn["z"], turn["x"], turn["y"]]
        lines.append(" ".join(f"{value:.9f}" for value in row))
    path.write_text("\n".join(lines) + "\n")
    return path


def _joint(name: str, depth: int, lines: list[str], order: list[str], metres: float) -> None:
    pad = "  " * depth
    order.append(name)
    lines += [f"{pad}{'JOINT' if depth else 'ROOT'} {name}", f"{pad}{{"]
    lines.append(f"{pad}  OFFSET " + " ".join(f"{v / metres:.9f}" for v in PARTS[name].place))
    lines.append(f"{pad}  CHANNELS 6 Xposition Yposition Zposition Zrotation Xrotation Yrotation")
    children = [other for other, part in PARTS.items() if part.parent == name]
    for child in children:
        _joint(child, depth + 1, lines, order, metres)
    if not children:
        lines += [f"{pad}  End Site", f"{pad}  {{", f"{pad}    OFFSET 0 0.01 0", f"{pad}  }}"]
    lines.append(f"{pad}}}")
