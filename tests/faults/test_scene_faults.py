"""Hostile and broken scene files: always one InputError sentence that names the file; never a crash, never a hang."""

from __future__ import annotations

import copy
import os

import numpy as np
import pytest
from tests.make.scenes import gltf_document, save_gltf, write_bvh, write_gltf, write_usd

from shotcrit.errors import InputError
from shotcrit.readings.scene.model import Sampling, check_nodes, short_names
from shotcrit.readings.scene.read import read_scene

SAMPLING = Sampling(seconds=np.arange(4) / 24, rate=24.0, first_frame=1)


def refused(path):
    with pytest.raises(InputError) as caught:
        read_scene(path, SAMPLING)
    text = str(caught.value)
    assert path.name in text
    assert "\n" not in text
    assert len(text) < 400
    assert "Traceback" not in text
    return text


def sound_or_refused(path):
    """A damaged file may still be whole where it matters; anything else than a scene or one sentence is a fault."""
    try:
        scene = read_scene(path, SAMPLING)
    except InputError as problem:
        said = str(problem)
    else:
        assert all(np.isfinite(m).all() for m in scene.nodes.values())
        return True
    assert path.name in said
    assert "\n" not in said
    return False


@pytest.mark.parametrize("name", ["a.usda", "a.usdc", "a.usdz", "a.usd", "a.gltf", "a.glb", "a.bvh"])
def test_empty_text_and_noise(tmp_path, name):
    path = tmp_path / name
    for content in (b"", b"this is no scene\n", np.random.default_rng(1).bytes(3000)):
        path.write_bytes(content)
        refused(path)


def test_missing_folders_pipes_and_strange_endings(tmp_path):
    refused(tmp_path / "nowhere.bvh")
    refused(tmp_path / "nowhere.usda")
    (tmp_path / "folder.glb").mkdir()
    refused(tmp_path / "folder.glb")
    os.mkfifo(tmp_path / "pipe.gltf")  # reading it would wait for ever
    refused(tmp_path / "pipe.gltf")
    refused(tmp_path / "scene.mov")


@pytest.mark.parametrize("store", ["data", "glb"])
def test_gltf_cut_short(tmp_path, store):
    whole = write_gltf(tmp_path / ("w.glb" if store == "glb" else "w.gltf"), store=store).read_bytes()
    path = tmp_path / ("cut.glb" if store == "glb" else "cut.gltf")
    for share in np.linspace(0.02, 0.98, 13):
        path.write_bytes(whole[: int(len(whole) * share)])
        sound_or_refused(path)
    path.write_bytes(whole[: len(whole) // 3])
    refused(path)


def test_bvh_cut_short_anywhere(tmp_path):
    whole = write_bvh(tmp_path / "w.bvh").read_text()
    path = tmp_path / "cut.bvh"
    for stop in range(0, len(whole) - 40, max(1, len(whole) // 40)):
        path.write_text(whole[:stop])
        refused(path)


def test_usd_cut_short(tmp_path):
    whole = write_usd(tmp_path / "w.usdc").read_bytes()
    path = tmp_path / "cut.usdc"
    for share in (0.1, 0.6, 0.97):
        path.write_bytes(whole[: int(len(whole) * share)])
        refused(path)


def test_mutated_gltf_never_crashes(tmp_path):
    whole = bytearray(write_gltf(tmp_path / "w.glb", store="glb").read_bytes())
    random, path = np.random.default_rng(8), tmp_path / "mutated.glb"
    for _ in range(40):
        damaged = bytearray(whole)
        for at in random.integers(0, 9000, 4):
            damaged[at] = int(random.integers(0, 256))
        path.write_bytes(damaged)
        sound_or_refused(path)


def test_mutated_bvh_never_crashes(tmp_path):
    whole = bytearray(write_bvh(tmp_path / "w.bvh").read_bytes())
    random, path = np.random.default_rng(9), tmp_path / "mutated.bvh"
    for _ in range(40):
        damaged = bytearray(whole)
        for at in random.integers(0, len(whole), 3):
            damaged[at] = int(random.integers(0, 256))
        path.write_bytes(damaged)
        sound_or_refused(path)


def _circle(d):
    d["nodes"][1]["children"] = [0]


def _self(d):
    d["nodes"][5]["children"] = [5]


def _outside_child(d):
    d["nodes"][5]["children"] = [999]


def _accessor_outside(d):
    d["accessors"][1]["count"] = 100000


def _huge_count(d):
    d["accessors"][1].update(count=10**12)
    del d["accessors"][1]["bufferView"]


def _negative_offset(d):
    d["bufferViews"][1]["byteOffset"] = -64


def _negative_stride(d):
    d["bufferViews"][1]["byteStride"] = -12


def _no_such_accessor(d):
    d["animations"][0]["samplers"][0]["output"] = 7777


def _nan_place(d):
    d["nodes"][3]["translation"] = [float("nan"), 0, 0]


def _infinite_matrix(d):
    d["nodes"][3]["matrix"] = [float("inf")] * 16


def _keys_fall(d):
    mouth = d["animations"][0]["samplers"][14]  # mouth_R moves to -x: its places, read as times, fall
    mouth["input"] = mouth["output"]


def _words_for_numbers(d):
    d["nodes"][3]["translation"] = ["a", "b", "c"]


def _lens_of_nothing(d):
    d["nodes"] = {"a": 1}


@pytest.mark.parametrize(
    "harm",
    [
        _circle, _self, _outside_child, _accessor_outside, _huge_count, _negative_offset, _negative_stride, _no_such_accessor, _nan_place,
        _infinite_matrix, _keys_fall, _words_for_numbers, _lens_of_nothing,
    ],
)  # fmt: skip
def test_gltf_that_is_wrong_inside(tmp_path, harm):
    document, raw = gltf_document()
    document = copy.deepcopy(document)
    # The hand's own animation goes, so that what the node itself says counts.
    document["animations"][0]["channels"] = [c for c in document["animations"][0]["channels"] if c["target"]["node"] != 3]
    harm(document)
    refused(save_gltf(tmp_path / "wrong.gltf", document, raw))


@pytest.mark.parametrize(
    "uri", ["../secret.bin", "/etc/passwd", "sub/../../secret.bin", "%2e%2e/secret.bin", "http://nowhere.invalid/a.bin", "a.bin"]
)
def test_gltf_does_not_leave_its_folder(tmp_path, uri):
    document, raw = gltf_document()
    (tmp_path / "secret.bin").write_bytes(raw)
    (tmp_path / "in").mkdir()
    path = save_gltf(tmp_path / "in" / "wrong.gltf", document, raw)
    text = path.read_text()
    path.write_text(text.replace(document["buffers"][0]["uri"], uri))
    assert "outside its own folder" in refused(path) or uri in ("http://nowhere.invalid/a.bin", "a.bin")


def test_gltf_links_out_of_the_folder_are_not_followed(tmp_path):
    document, raw = gltf_document()
    (tmp_path / "secret.bin").write_bytes(raw)
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.bin").symlink_to(tmp_path / "secret.bin")
    path = save_gltf(tmp_path / "in" / "wrong.gltf", document, raw)
    path.write_text(path.read_text().replace(document["buffers"][0]["uri"], "a.bin"))
    assert "outside its own folder" in refused(path)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Frames: 49", "Frames: 999999999999"),
        ("Frames: 49", "Frames: -3"),
        ("Frames: 49", "Frames: 0"),
        ("Frame Time: 0.041666667", "Frame Time: 0"),
        ("Frame Time: 0.041666667", "Frame Time: nan"),
        ("CHANNELS 6", "CHANNELS 99999999"),
        ("CHANNELS 6", "CHANNELS -6"),
        ("Xposition", "Wposition"),
        ("JOINT eye_L", "JOINT head"),
        ("OFFSET 0.000000000 0.000000000 0.000000000", "OFFSET nan 0 inf"),
        ("OFFSET 0.000000000 0.000000000 0.000000000", "OFFSET 1e300 0 0"),
        ("ROOT body", "ROOT body } } } }"),
        ("ROOT body", "End Site"),
    ],
)
def test_bvh_that_is_wrong_inside(tmp_path, old, new):
    path = write_bvh(tmp_path / "wrong.bvh")
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    refused(path)


def test_bvh_with_a_number_that_is_none(tmp_path):
    path = write_bvh(tmp_path / "wrong.bvh")
    path.write_text(path.read_text().rsplit(" ", 1)[0] + " nan\n")
    refused(path)


def test_many_joints_are_refused_quickly(tmp_path):
    path = tmp_path / "many.bvh"
    joints = "".join(f"JOINT j{i} {{ OFFSET 0 1 0 CHANNELS 1 Zrotation }}\n" for i in range(200_001))
    path.write_text("HIERARCHY ROOT r { OFFSET 0 0 0 CHANNELS 1 Zrotation\n" + joints + "} MOTION Frames: 1 Frame Time: 0.1 0")
    refused(path)
    with pytest.raises(InputError, match="more than the 800 nodes that can be read over 5000 frames"):
        check_nodes(801, 5000)
    check_nodes(800, 5000)


def test_names_of_many_nodes_do_not_hang():
    paths = [f"/a/b{i // 2}/{'x' if i % 2 else i}" for i in range(100_000)]
    names = short_names(paths, "/")
    assert "x" not in names
    assert names["2"] == "/a/b1/2"


USDA = (
    '#usda 1.0\n( metersPerUnit = {metres}\n upAxis = "Y" )\ndef Xform "a" {{ double3 xformOp:translate = ({x}, 0, 0)\n'
    ' uniform token[] xformOpOrder = ["xformOp:translate"] }}\n{more}'
)


@pytest.mark.parametrize(
    ("metres", "x", "more"),
    [
        ("1", "inf", ""),
        ("1", "nan", ""),
        ("1", "1", 'def Camera "cam" { float focalLength = 0 }'),
        ("1", "1", 'def Camera "cam" { float horizontalAperture = nan }'),
    ],
)
def test_usd_that_is_wrong_inside(tmp_path, metres, x, more):
    path = tmp_path / "wrong.usda"
    path.write_text(USDA.format(metres=metres, x=x, more=more))
    refused(path)


def test_usd_with_nothing_in_it_and_with_a_circle_of_references(tmp_path):
    path = tmp_path / "empty.usda"
    path.write_text("#usda 1.0\n")
    assert "nothing that has a place" in refused(path)
    path = tmp_path / "circle.usda"
    path.write_text('#usda 1.0\n(\n subLayers = [ @circle.usda@ ]\n)\ndef Xform "a" ( references = @circle.usda@</a> ) {}\n')
    sound_or_refused(path)


def test_an_unusable_unit_is_refused(tmp_path):
    path = tmp_path / "unit.usda"
    path.write_text(USDA.format(metres="nan", x="1", more=""))
    sound_or_refused(path)
    path.write_text(USDA.format(metres="0", x="1", more=""))
    refused(path)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "cut short"),
        (b'{"asset": {"version": "2.0"}, "nodes": [', "cut short"),
        (b'{"asset": {"version": "2.0"}, "nodes": ' + b"[" * 9000 + b"]" * 9000 + b"}", "nested too deeply"),
        (b'{"asset": {"version": "2.0"}, "nodes": [{"name": "a", "camera": 3}]}', "does not hold"),
    ],
)
def test_what_is_wrong_with_a_gltf_is_said_in_words(tmp_path, data, said):
    path = tmp_path / "broken.gltf"
    path.write_bytes(data)
    text = refused(path)
    assert said in text
    assert "Error" not in text
