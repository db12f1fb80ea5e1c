"""What characters do, from a scene: mouth, gaze, lids, marks in the picture, and what is missing."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tests.make import scenes
from tests.make.scenes import CAST_SCENE, PARTS

from shotcrit.readings.cast import parse_cast
from shotcrit.readings.scene.acting import acting_from_scene, scene_cameras
from shotcrit.readings.scene.model import Scene, SceneCamera
from shotcrit.readings.scene.parts import missing_nodes, suggest_parts

N, WIDE, HIGH = 40, 1920, 1080
TIMES = np.arange(N) / 24


def scene(**more):
    nodes = {name: scenes.world(name, TIMES) for name in [*PARTS, "cam"]}
    rest = {name: scenes.truth(name, 0.0) for name in nodes}
    lens = SceneCamera("cam", focal_mm=np.full(N, 35.0), back_width_mm=np.full(N, 36.0), back_height_mm=np.full(N, 20.25))
    return Scene("lantern.usd", "USD", nodes, rest, {"cam": lens}, **more)


def cast(parts=CAST_SCENE, **more):
    return parse_cast({"characters": [{"name": "Ada", "scene": parts}], **more}, name="cast")


def acted(a_cast, a_scene=None):
    a_scene = a_scene or scene()
    cameras = scene_cameras(a_scene, a_cast, first_frame=1, frames=N, width=WIDE, height=HIGH)
    return acting_from_scene(a_scene, a_cast, cameras, width=WIDE, height=HIGH)[0], cameras


def test_mouth_opening_and_width():
    """Lips part by 10 mm a second and corners by 5 mm a second each, over a rest width of 50 mm."""
    ada, _ = acted(cast())
    np.testing.assert_allclose(ada.mouth.opening, 0.010 * TIMES / 0.05, atol=1e-5)
    np.testing.assert_allclose(ada.mouth.width, 1 + 0.010 * TIMES / 0.05, atol=1e-5)
    assert ada.mouth.meets[0] > 0.8
    assert ada.mouth.meets[-1] < 0.01


def test_gaze_by_iris_and_by_the_eyes_own_axis():
    """Truth by scipy: the head turns 20 degrees a second about y, the eyes tilt up 8 degrees a second about x."""
    truth = (
        Rotation.from_euler("y", 20 * TIMES[:, None], degrees=True) * Rotation.from_euler("x", -8 * TIMES[:, None], degrees=True)
    ).apply([0, 0, 1])
    without_iris = {part: node for part, node in CAST_SCENE.items() if not part.startswith("iris")}
    for parts in (CAST_SCENE, without_iris):
        ada, cameras = acted(cast(parts))
        for side in ("left", "right"):
            np.testing.assert_allclose(ada.gaze[side].world_direction, truth, atol=1e-5)
            turn = np.array([c.world_to_camera[:3, :3] for c in cameras])
            np.testing.assert_allclose(ada.gaze[side].direction, np.einsum("nij,nj->ni", turn, truth), atol=1e-5)
    assert np.isnan(acted(cast(without_iris))[0].gaze["left"].iris).all()


def test_own_axis_of_an_eye_that_was_built_turned():
    """Riggers point eyes along any axis: here along -x of the node."""
    a_scene = scene()
    turned = np.eye(4)
    turned[:3, :3] = Rotation.from_euler("y", 90, degrees=True).as_matrix()  # -x of the node is then the face's forward
    nodes = {**a_scene.nodes, "eye_L": a_scene.nodes["eye_L"] @ turned}
    rest = {**a_scene.rest, "eye_L": a_scene.rest["eye_L"] @ turned}
    parts = {part: node for part, node in CAST_SCENE.items() if not part.startswith("iris")}
    ada, _ = acted(cast(parts), Scene("s", "USD", nodes, rest, a_scene.cameras))
    np.testing.assert_allclose(ada.gaze["left"].world_direction, ada.gaze["right"].world_direction, atol=1e-6)


def test_marks_in_the_picture_equal_opencv():
    """Outside source: cv2.projectPoints with the camera's pose taken from the world matrices by hand."""
    ada, _ = acted(cast())
    focal = 35 / 36 * WIDE
    matrix = np.array([[focal, 0, WIDE / 2], [0, focal, HIGH / 2], [0, 0, 1]])
    for frame in (0, 17, 39):
        camera = scenes.truth("cam", TIMES[frame])
        turn = np.diag([1.0, -1.0, -1.0]) @ camera[:3, :3].T
        for part, node in CAST_SCENE.items():
            point = scenes.truth(node, TIMES[frame])[:3, 3]
            theirs, _ = cv2.projectPoints(point[None], cv2.Rodrigues(turn)[0], -turn @ camera[:3, 3], matrix, None)
            np.testing.assert_allclose(ada.marks[part].xy[frame] * [WIDE, HIGH], theirs[0, 0], atol=0.01)
    top, chin = (ada.marks[m].xy * [WIDE, HIGH] for m in ("head_top", "chin"))
    np.testing.assert_allclose(ada.head.height_px, np.linalg.norm(top - chin, axis=1), rtol=1e-4)


def test_lids_by_morph_and_by_nodes():
    weights = np.concatenate([np.zeros(18), [0.5, 1, 1, 0.5], np.zeros(18)])
    a_scene = scene(morphs={"face.blink_L": weights})
    ada, _ = acted(cast({**CAST_SCENE, "lid_upper_left": "face.blink_L"}), a_scene)
    np.testing.assert_allclose(ada.lids["left"], 1 - weights, atol=1e-6)
    assert "scene" not in ada.lacks
    up, low = np.repeat(np.eye(4)[None], N, axis=0), np.repeat(np.eye(4)[None], N, axis=0)
    up[:, 1, 3] = 0.012 * (1 - weights)
    nodes = {**a_scene.nodes, "lidU": up, "lidD": low}
    a_scene = Scene("s", "USD", nodes, {name: m[0] for name, m in nodes.items()}, a_scene.cameras)
    ada, _ = acted(cast({**CAST_SCENE, "lid_upper_right": "lidU", "lid_lower_right": "lidD"}), a_scene)
    np.testing.assert_allclose(ada.lids["right"], 1 - weights, atol=1e-6)


def test_missing_nodes_are_named_with_the_nearest():
    ada, _ = acted(cast({**CAST_SCENE, "chin": "chinn", "nose": "xyzzy"}))
    assert "'chinn' for chin (is it 'chin'?)" in ada.lacks["scene"]
    assert "'xyzzy' for nose" in ada.lacks["scene"]
    assert "chin" not in ada.marks
    assert missing_nodes({"head": "head"}, ["head"]) is None


def test_cameras_change_at_the_cast_s_cuts_and_none_is_guessed():
    plan = [{"node": "cam", "first": 1, "last": 20}, {"node": "cam", "first": 21, "last": 40}]
    assert len(acted(cast(cameras=plan))[1]) == N
    ada, cameras = acted(cast(cameras=plan[:1]))
    assert cameras == ()
    assert np.isnan(ada.marks["head"].xy).all()
    assert np.isfinite(ada.marks["head"].world).all()


@pytest.mark.parametrize(
    ("node", "part"),
    [
        ("L_eye", "eye_left"), ("eye.R", "eye_right"), ("LeftEye", "eye_left"), ("rig:RightHand", "hand_right"), ("eyeball_l", "eye_left"),
        ("mixamo:LeftShoulder", "shoulder_left"), ("Head", "head"), ("HeadTop_End", "head_top"), ("hand_r_ctl", "hand_right"),
        ("lip_upper_mid", "lip_upper"), ("LowerLip", "lip_lower"), ("mouth_corner_L", "mouth_left"), ("Hips", "hips"), ("pelvis", "hips"),
        ("Spine2", "chest"), ("r_foot", "foot_right"), ("LeftAnkle", "foot_left"), ("iris_L", "iris_left"), ("pupil.r", "iris_right"),
        ("brow_l", "brow_left"), ("upper_lid_L", "lid_upper_left"), ("eyelid_lower_r", "lid_lower_right"), ("jaw_jnt", "jaw"),
        ("chin", "chin"), ("nose_tip", "nose"), ("l_wrist", "hand_left"),
    ],
)  # fmt: skip
def test_parts_from_names_as_riggers_write_them(node, part):
    assert suggest_parts([node]) == {part: node}


@pytest.mark.parametrize("node", ["lantern", "rock_07", "camera", "light_key", "hand", "rope_left_end", "eyeglasses_L_frame"])
def test_names_of_other_things_are_no_parts(node):
    assert suggest_parts([node]) == {}
