"""The shipped demo film is what its key says: sizes, frames, cuts, repeats, scenes and cast agree with the generator's own answers."""

from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pytest

import shotcrit
from shotcrit.readings.cast import read_cast
from shotcrit.readings.scene.acting import acting_from_scene, scene_cameras
from shotcrit.readings.scene.model import Sampling
from shotcrit.readings.scene.read import read_scene

FILM = Path(shotcrit.__file__).parent / "demo_film"
TRUTH = Path(__file__).parents[2] / "demo" / "truth"
TAKES = ("take1", "take2")
MOST_BYTES = 8 * 2**20
SCENE_PX = 0.05
"""Largest difference of a projected node and the generator's own, px: single precision in the files."""


def key_of(take: str) -> dict:
    return json.loads((FILM / f"lantern_040_{take}.key.json").read_text(encoding="utf-8"))


def luma(take: str) -> np.ndarray:
    """Every picture at 320x180, float32 [shape=(n, 180, 320)]."""
    with av.open(str(FILM / f"lantern_040_{take}.mp4")) as container:
        return np.array([f.reformat(320, 180, "gray").to_ndarray() for f in container.decode(video=0)], np.float32)


def planted(take: str, check: str, kind: str) -> dict | None:
    return next((row for row in key_of(take)["planted"] if (row["check"], row["kind"]) == (check, kind)), None)


def test_all_of_it_is_small():
    assert sum(f.stat().st_size for f in FILM.iterdir()) <= MOST_BYTES


@pytest.mark.parametrize("take", TAKES)
def test_pictures_cuts_and_dead_tail_are_where_the_key_says(take):
    key, pictures = key_of(take), luma(take)
    assert len(pictures) == key["frames"]
    step = np.abs(np.diff(pictures, axis=0)).mean(axis=(1, 2))
    jumps = np.flatnonzero(step > 12) + 1 + key["first_frame"]
    assert jumps.tolist() == key["cuts"]
    tail = planted(take, "hold", "tail")
    live = step[: -tail["value"]]
    # Compression stirs a repeated picture a little; what lives moves far more, everywhere.
    assert step[-tail["value"] :].max() < 0.25 * live.min()


@pytest.mark.parametrize(("take", "kind"), [("take1", "glb"), ("take1", "usdc"), ("take2", "glb")])
def test_scenes_show_what_the_generator_made(take, kind):
    key, truth = key_of(take), np.load(TRUTH / f"lantern_040_{take}.npz")
    n, first = key["frames"], key["first_frame"]
    cast = read_cast(FILM / f"lantern_040_{take}.cast.json")
    scene = read_scene(FILM / f"lantern_040_{take}.{kind}", Sampling(seconds=np.arange(n) / 24, rate=24.0, first_frame=first))
    cameras = scene_cameras(scene, cast, first_frame=first, frames=n, width=1280, height=720)
    for actor in acting_from_scene(scene, cast, cameras, width=1280, height=720):
        assert not actor.lacks
        for mark in ("nose", "iris_left", "lip_lower", "hand_right", "handle"):
            if mark in actor.marks:
                gap = np.abs(actor.marks[mark].xy - truth[f"{actor.who}.mark.{mark}"]) * (1280, 720)
                assert np.nanmax(gap) < SCENE_PX
        if actor.mouth is not None:
            assert np.abs(actor.mouth.opening - truth[f"{actor.who}.opening"]).max() < 0.005


def test_a_click_lies_where_the_mark_is():
    cast, truth = read_cast(FILM / "lantern_040_take1.cast.json"), np.load(TRUTH / "lantern_040_take1.npz")
    gaps = [
        np.hypot(*((np.array([p.x, p.y]) - truth[f"{owner.name}.mark.{mark}"][p.frame - 1001]) * (1280, 720)))
        for owner in cast.marked
        for mark, placed in owner.marks.items()
        for p in placed
    ]
    assert len(gaps) > 100
    assert 0.3 < np.median(gaps) < 1.0  # a person's half pixel each way
    assert max(gaps) < 3.0


def test_the_second_take_mends_what_it_says_and_breaks_one_thing():
    one, two = (np.load(TRUTH / f"lantern_040_{t}.npz") for t in TAKES)
    assert one["lantern.slip_m"].max() == pytest.approx(0.023)
    assert two["lantern.slip_m"].max() == 0
    up = planted("take1", "eyeline", "off_target")
    off = one["Oona.off_deg_left"][up["first"] - 1001 : up["last"] - 1000]
    assert np.median(off) == pytest.approx(up["value"], abs=0.1)
    assert two["Oona.off_deg_left"].max() < 1.0
    broken = planted("take2", "lipsync", "closure")
    inside = slice(broken["first"] - 1001, broken["last"] - 1000)
    assert two["Oona.opening"][inside].min() > 0.1
    assert one["Oona.opening"][inside].min() < 0.02
