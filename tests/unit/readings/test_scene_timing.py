"""Scenes whose time does not begin with the movie, and scenes without a rest pose."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import numpy as np
import pytest

from shotcrit.readings.cast import Cast, parse_cast
from shotcrit.readings.scene.acting import acting_from_scene
from shotcrit.readings.scene.model import Sampling
from shotcrit.readings.scene.read import read_scene
from shotcrit.readings.scene.report import scene_words

N, RATE = 40, 24.0
FACE = {"eye_left": (0.03, 0.0, 0.1), "eye_right": (-0.03, 0.0, 0.1), "mouth_left": (0.02, -0.1, 0.1), "mouth_right": (-0.02, -0.1, 0.1),
        "lip_upper": (0.0, -0.09, 0.1), "lip_lower": (0.0, -0.11, 0.1)}  # fmt: skip


def sampling(first: int = 1) -> Sampling:
    return Sampling(np.arange(N) / RATE, RATE, first)


def face_cast(**nodes: str) -> Cast:
    return parse_cast({"characters": [{"name": "Ada", "scene": {part: part for part in FACE} | nodes}]}, name="cast.json")


def glb(path: Path, keys: np.ndarray, *, rest: bool = True) -> Path:
    """A face whose chin goes up by 1 mm a key, as a GLB written by hand; without `rest` no node has a place of its own."""
    blob = bytearray()
    views, accessors, channels, samplers = [], [], [], []

    def put(values: np.ndarray, kind: str) -> int:
        data = np.ascontiguousarray(values, "<f4").tobytes()
        views.append({"buffer": 0, "byteOffset": len(blob), "byteLength": len(data)})
        accessors.append({"bufferView": len(views) - 1, "componentType": 5126, "count": len(values), "type": kind})
        blob.extend(data)
        return len(accessors) - 1

    times = put(keys, "SCALAR")
    nodes = []
    for index, (name, at) in enumerate((FACE | {"chin": (0.0, -0.15, 0.1)}).items()):
        nodes.append({"name": name, "translation": list(at)} if rest else {"name": name})
        if rest and name != "chin":
            continue
        moved = np.array(at) + np.outer(np.arange(len(keys)), [0, 0.001 if name == "chin" else 0, 0])
        samplers.append({"input": times, "output": put(moved, "VEC3")})
        channels.append({"sampler": len(samplers) - 1, "target": {"node": index, "path": "translation"}})
    document = {
        "asset": {"version": "2.0"}, "scenes": [{"nodes": list(range(len(nodes)))}], "nodes": nodes, "buffers": [{"byteLength": len(blob)}],
        "bufferViews": views, "accessors": accessors, "animations": [{"channels": channels, "samplers": samplers}],
    }  # fmt: skip
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    head = struct.pack("<4sIII4s", b"glTF", 2, 28 + len(text) + len(blob), len(text), b"JSON")
    path.write_bytes(head + text + struct.pack("<I4s", len(blob), b"BIN\0") + bytes(blob))
    return path


def risen(scene) -> np.ndarray:
    """By how many keys the chin has risen on each frame."""
    return (scene.nodes["chin"][:, 1, 3] + 0.15) / 0.001


@pytest.mark.parametrize(("start", "first", "said"), [(0, 1, False), (1, 1, True), (1001, 1001, True), (1001, 1, True), (993, 1001, True)])
def test_gltf_keys_that_begin_later_begin_with_the_movie(tmp_path, start, first, said):
    """Frame 1 at 1 / 24 s and frame 1001 at 1001 / 24 s, as programs that count from them write; 993 has a handle of eight frames."""
    lead = 8 if start == 993 else 0
    scene = read_scene(glb(tmp_path / "a.glb", (np.arange(N + lead) + start) / RATE), sampling(first))
    np.testing.assert_allclose(risen(scene), np.arange(N) + lead, atol=2e-3)
    assert any("first picture" in line for line in scene.says) == said


def test_gltf_keys_that_begin_and_end_within_the_movie_are_a_later_movement(tmp_path):
    scene = read_scene(glb(tmp_path / "a.glb", (np.arange(10) + 20) / RATE), sampling())
    np.testing.assert_allclose(risen(scene), np.clip(np.arange(N) - 20, 0, 9), atol=2e-3)
    assert not any("first picture" in line for line in scene.says)


def test_gltf_keys_at_another_rate_are_told(tmp_path):
    scene = read_scene(glb(tmp_path / "a.glb", np.arange(60) / 30), sampling())
    np.testing.assert_allclose(risen(scene), np.arange(N) * 30 / RATE, atol=2e-3)
    assert "the scene has 30 keys a second, the movie 24 frames a second; it is matched by time" in scene.says
    assert read_scene(glb(tmp_path / "b.glb", np.arange(60) / RATE), sampling()).says == ()


def stage(path: Path, start: int, *, said: bool, default: bool) -> Path:
    from pxr import Gf, Usd, UsdGeom  # noqa: PLC0415

    made = Usd.Stage.CreateNew(str(path))
    made.SetTimeCodesPerSecond(RATE)
    UsdGeom.SetStageMetersPerUnit(made, 1.0)
    if said:
        made.SetStartTimeCode(start)
        made.SetEndTimeCode(start + N - 1)
    for name, at in (FACE | {"chin": (0.0, -0.15, 0.1)}).items():
        op = UsdGeom.Xform.Define(made, f"/Ada/{name}").AddTranslateOp()
        if default:
            op.Set(Gf.Vec3d(*at))
        for k in range(N):
            op.Set(Gf.Vec3d(at[0], at[1] + (0.001 * k if name == "chin" else 0), at[2]), start + k)
    made.Save()
    return path


@pytest.mark.parametrize(("start", "first"), [(0, 1), (1, 1), (1001, 1001), (1001, 1)])
@pytest.mark.parametrize("said", [True, False])
def test_usd_begins_with_the_movie_though_it_does_not_say_where_it_starts(tmp_path, start, first, said):
    scene = read_scene(stage(tmp_path / "a.usda", start, said=said, default=True), sampling(first))
    np.testing.assert_allclose(risen(scene), np.arange(N), atol=1e-6)
    assert any("first picture" in line for line in scene.says) == (start != first)


@pytest.mark.parametrize("kind", ["glb", "usda"])
def test_a_face_that_rests_nowhere_rests_as_on_its_first_picture(tmp_path, kind):
    """Files that hold keys alone: without a rest pose eyes had no way to point and the mouth no width."""
    path = tmp_path / f"a.{kind}"
    path = glb(path, np.arange(N) / RATE, rest=False) if kind == "glb" else stage(path, 1, said=True, default=False)
    (ada,) = acting_from_scene(read_scene(path, sampling()), face_cast(), (), width=960, height=540)
    assert set(ada.gaze) == {"left", "right"}
    np.testing.assert_allclose(ada.gaze["left"].world_direction, np.tile([0, 0, 1.0], (N, 1)), atol=1e-6)
    assert ada.mouth is not None
    np.testing.assert_allclose(ada.mouth.width, 1, atol=1e-5)


def words(scene, cast: Cast | None) -> str:
    return "\n".join(scene_words(scene, cast, first_frame=1, frames=N))


def test_what_a_scene_lacks_is_told(tmp_path):
    scene = read_scene(stage(tmp_path / "a.usda", 1, said=True, default=True), sampling())
    assert "'lip_uper' for lip_upper (is it 'lip_upper'?)" in words(scene, face_cast(lip_upper="lip_uper"))
    assert "holds no camera" in words(scene, face_cast())
    assert '"eye_left": "/Ada/eye_left"' in words(scene, parse_cast({"characters": [{"name": "Ada"}]}, name="cast.json"))
    assert '"mouth_right": "' in words(scene, None)


def test_frames_without_a_camera_are_told(tmp_path):
    from pxr import Usd, UsdGeom  # noqa: PLC0415

    path = stage(tmp_path / "a.usda", 1, said=True, default=True)
    made = Usd.Stage.Open(str(path))
    for name in ("CamA", "CamB"):
        UsdGeom.Camera.Define(made, f"/{name}")
    made.Save()
    scene = read_scene(path, sampling())
    base = {"characters": [{"name": "Ada", "scene": {"chin": "chin"}}]}

    def told(*cameras: tuple[str, int, int]) -> str:
        named = [{"node": node, "first": first, "last": last} for node, first, last in cameras]
        return words(scene, parse_cast(base | {"cameras": named}, name="cast.json"))

    assert "does not say which camera" in told()
    assert "names no camera for frame 21" in told(("CamA", 1, 20))
    assert "has no camera 'CamBB' (is it 'CamB'?)" in told(("CamA", 1, 20), ("CamBB", 21, 40))
    assert told(("CamA", 1, 20), ("CamB", 21, 40)) == ""
