"""USD, glTF and BVH of one motion against the motion worked out with scipy: metres, y up, at the movie's frames."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation, Slerp
from tests.make import scenes
from tests.make.scenes import PARTS, gltf_document, save_gltf, write_bvh, write_gltf, write_usd

from shotcrit.readings.scene.model import Sampling
from shotcrit.readings.scene.read import read_scene
from shotcrit.readings.scene.transforms import slerp

CLOSE = 2e-6
"""Metres and rotation entries: float32 keys in glTF, nine decimals in BVH."""


def frames(n=40, rate=24.0, first=1, offset=0.0):
    return Sampling(seconds=np.arange(n) / rate, rate=rate, first_frame=first, offset_s=offset)


def agree(scene, times, *, camera=True, atol=CLOSE):
    for name in [*PARTS, *(["cam"] if camera else [])]:
        np.testing.assert_allclose(scene.nodes[name], scenes.world(name, times), atol=atol, err_msg=name)


@pytest.mark.parametrize("scene_rate", [24.0, 30.0])
def test_usd_in_metres(tmp_path, scene_rate):
    sampling = frames()
    scene = read_scene(write_usd(tmp_path / "a.usda", rate=scene_rate), sampling)
    agree(scene, sampling.seconds)
    assert any("24" in line and "30" in line for line in scene.says) == (scene_rate == 30.0)
    lens = scene.cameras["cam"]
    assert (lens.focal_mm[7], lens.back_width_mm[7], lens.back_height_mm[7]) == pytest.approx((35, 36, 20.25))


def test_usd_with_z_up_and_centimetres(tmp_path):
    sampling = frames()
    agree(read_scene(write_usd(tmp_path / "z.usdc", z_up=True, metres=0.01), sampling), sampling.seconds)


def test_usd_numbered_as_the_movie_is_and_with_handles(tmp_path):
    """A stage that starts at 993 with the shot's first frame at 1001: frame 1001 is code 1001, not 993."""
    for lead in (0, 8):
        sampling = frames(first=1001)
        path = write_usd(tmp_path / f"h{lead}.usda", start=1001, lead=lead)
        scene = read_scene(path, sampling)
        agree(scene, sampling.seconds)
        assert any("993" in line for line in scene.says) == (lead == 8)


def test_usd_that_starts_elsewhere_than_the_movie_says_what_it_takes(tmp_path):
    scene = read_scene(write_usd(tmp_path / "s.usda", start=1001), frames(first=1))
    agree(scene, frames().seconds)
    assert any("1001" in line for line in scene.says)


def test_usd_equals_the_library_asked_directly(tmp_path):
    """Outside source: UsdGeom.Xformable.ComputeLocalToWorldTransform."""
    from pxr import Usd, UsdGeom  # noqa: PLC0415

    path = write_usd(tmp_path / "direct.usda", rate=30.0)
    scene = read_scene(path, frames())
    stage = Usd.Stage.Open(str(path))
    prim = UsdGeom.Xformable(next(p for p in stage.Traverse() if p.GetName() == "iris_L"))
    for frame in (0, 13, 39):
        theirs = np.array(prim.ComputeLocalToWorldTransform(Usd.TimeCode(frame / 24 * 30))).T
        np.testing.assert_allclose(scene.nodes["iris_L"][frame], theirs, atol=1e-9)


def test_the_cast_overrules_a_stages_unit_and_says_so(tmp_path):
    scene = read_scene(write_usd(tmp_path / "u.usda"), frames(), metres_per_unit=0.01)
    np.testing.assert_allclose(scene.nodes["head"][0, :3, 3], [0.001, 0.016, 0], atol=1e-9)
    assert any("the cast's word" in line for line in scene.says)


@pytest.mark.parametrize("store", ["data", "beside", "glb"])
@pytest.mark.parametrize("how", ["LINEAR", "CUBICSPLINE"])
def test_gltf(tmp_path, store, how):
    sampling = frames()
    name = "a.glb" if store == "glb" else "a.gltf"
    # Keys at 30 against a movie at 24: three of four frames lie between keys.
    scene = read_scene(write_gltf(tmp_path / name, rate=30.0, how=how, store=store), sampling)
    agree(scene, sampling.seconds, atol=1e-5 if how == "CUBICSPLINE" else CLOSE)
    assert scene.cameras["cam"].vertical_fov_deg[3] == pytest.approx(np.degrees(2 * np.arctan(20.25 / 70)))


def test_gltf_step_holds_the_last_key(tmp_path):
    sampling = frames(rate=24.0)
    scene = read_scene(write_gltf(tmp_path / "step.gltf", rate=8.0, how="STEP"), sampling)
    agree(scene, np.floor(sampling.seconds * 8 + 1e-9) / 8)


def test_gltf_node_matrix_morphs_and_twin_names(tmp_path):
    document, raw = gltf_document()
    keys = len(document["accessors"]) and document["accessors"][0]["count"]
    weights = np.stack([np.linspace(0, 1, keys), np.linspace(1, 0, keys)], axis=1).astype("<f4")
    document["bufferViews"].append({"buffer": 0, "byteOffset": len(raw), "byteLength": weights.nbytes})
    document["accessors"].append(
        {"bufferView": len(document["bufferViews"]) - 1, "componentType": 5126, "count": keys * 2, "type": "SCALAR"}
    )
    raw += weights.tobytes()
    document["buffers"][0]["byteLength"] = len(raw)
    turned = np.eye(4)
    turned[:3, :3] = Rotation.from_euler("xyz", [10, 20, 30], degrees=True).as_matrix()
    turned[:3, 3] = [1, 2, 3]
    face = {"name": "face", "mesh": 0, "matrix": turned.T.ravel().tolist()}
    document["nodes"] += [face, {"name": "twin"}, {"name": "twin", "translation": [0, 0, 4]}]
    document["meshes"] = [{"primitives": [], "extras": {"targetNames": ["blink_L", "smile"]}}]
    animation = document["animations"][0]
    animation["samplers"].append({"input": 0, "output": len(document["accessors"]) - 1, "interpolation": "LINEAR"})
    face_index = len(document["nodes"]) - 3
    animation["channels"].append({"sampler": len(animation["samplers"]) - 1, "target": {"node": face_index, "path": "weights"}})
    scene = read_scene(save_gltf(tmp_path / "m.gltf", document, raw), frames())
    np.testing.assert_allclose(scene.nodes["face"][9], turned, atol=1e-6)
    np.testing.assert_allclose(scene.morphs["face.blink_L"], np.arange(40) / 48, atol=1e-5)
    np.testing.assert_allclose(scene.morphs["face.smile"], 1 - np.arange(40) / 48, atol=1e-5)
    assert scene.nodes["twin#2"][0, 2, 3] == 4


def test_slerp_equals_scipy():
    """Outside source: scipy.spatial.transform.Slerp."""
    random = np.random.default_rng(4)
    a, b = Rotation.random(60, random_state=1), Rotation.random(60, random_state=2)
    t = random.uniform(0, 1, 60)
    ours = Rotation.from_quat(slerp(a.as_quat(), b.as_quat() * random.choice([-1, 1], (60, 1)), t))
    for i in range(60):
        theirs = Slerp([0, 1], Rotation.concatenate([a[i], b[i]]))(t[i])
        assert (ours[i] * theirs.inv()).magnitude() < 1e-7


@pytest.mark.parametrize("scene_rate", [24.0, 30.0])
def test_bvh_agrees_and_takes_its_unit_from_the_cast(tmp_path, scene_rate):
    sampling = frames()
    scene = read_scene(write_bvh(tmp_path / "a.bvh", rate=scene_rate, metres=0.01), sampling, metres_per_unit=0.01)
    agree(scene, sampling.seconds, camera=False)
    assert "0.01 m" in scene.says[0]


TWO_JOINTS = """HIERARCHY
ROOT Hips
{
  OFFSET 0 0 0
  CHANNELS 6 Xposition Yposition Zposition Zrotation Xrotation Yrotation
  JOINT Chest
  {
    OFFSET 0 5 0
    CHANNELS 3 Zrotation Xrotation Yrotation
    End Site
    {
      OFFSET 0 2 0
    }
  }
}
MOTION
Frames: 2
Frame Time: 0.5
1 2 3 90 0 0 0 90 0
1 2 3 90 0 90 0 0 90
"""


def test_bvh_by_hand(tmp_path):
    """Worked on paper. Frame 0: hips turn 90 degrees about z, so that the chest (0,5,0) lands at (-5,0,0) + (1,2,3) = (-4,2,3); the chest turns
    90 degrees about x, (0,2,0) -> (0,0,2), which z leaves alone: the end is at (-4,2,5).
    Frame 1: rotations in file order, Rz(90) Ry(90): chest (0,5,0) -> Ry leaves it -> Rz (-5,0,0). The chest's own Ry(90) leaves (0,2,0);
    the end is at (-6,2,3)."""
    path = tmp_path / "two.bvh"
    path.write_text(TWO_JOINTS)
    scene = read_scene(path, Sampling(np.array([0.0, 0.5]), 2.0, 1))
    np.testing.assert_allclose(scene.nodes["Chest"][:, :3, 3], [[-4, 2, 3], [-4, 2, 3]], atol=1e-12)
    np.testing.assert_allclose(scene.nodes["Chest_end"][:, :3, 3], [[-4, 2, 5], [-6, 2, 3]], atol=1e-12)
    # Rz(90) Ry(90) carries x to -z, and y to -x.
    np.testing.assert_allclose(scene.nodes["Hips"][1, :3, :3] @ [1, 0, 0], [0, 0, -1], atol=1e-12)


def test_bvh_angles_take_the_shorter_way(tmp_path):
    path = tmp_path / "wrap.bvh"
    path.write_text(TWO_JOINTS.replace("1 2 3 90 0 0 0 90 0", "0 0 0 359 0 0 0 0 0").replace("1 2 3 90 0 90 0 0 90", "0 0 0 1 0 0 0 0 0"))
    scene = read_scene(path, Sampling(np.array([0.25]), 4.0, 1))
    np.testing.assert_allclose(scene.nodes["Hips"][0, :3, :3], np.eye(3), atol=1e-12)


def test_a_scene_shorter_than_the_movie_holds_its_last_pose_and_says_so(tmp_path):
    sampling = frames(96)
    for path in (write_usd(tmp_path / "e.usda"), write_gltf(tmp_path / "e.gltf"), write_bvh(tmp_path / "e.bvh")):
        scene = read_scene(path, sampling)
        np.testing.assert_allclose(scene.nodes["head"][-1], scenes.truth("head", 2.0), atol=1e-5)
        assert any("held" in line for line in scene.says)


def test_offset_asks_later_in_the_scene(tmp_path):
    for path in (write_usd(tmp_path / "o.usda"), write_gltf(tmp_path / "o.gltf"), write_bvh(tmp_path / "o.bvh")):
        scene = read_scene(path, frames(12, offset=0.5))
        np.testing.assert_allclose(scene.nodes["iris_R"][3], scenes.truth("iris_R", 0.625), atol=1e-5)


def test_gltf_without_animation_says_so(tmp_path):
    document, raw = gltf_document()
    del document["animations"]
    scene = read_scene(save_gltf(tmp_path / "still.gltf", document, raw), frames(3))
    assert "no animation" in scene.says[-1]
    np.testing.assert_allclose(scene.nodes["hand_R"][2], scenes.truth("hand_R", 0), atol=CLOSE)
