"""Dead frames exactly, whatever codec and grain do, and none where something still drifts. Two generators, so that nothing is tuned to one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.make.picture_rows import judged, read_pictures, through_film
from tests.make.posed import Grain, Pose, acting, drawn, drifting, painted, with_grain

from shotcrit.checks.hold import check as hold

PAINTERS = {"painted": painted, "drawn": drawn}
DEAD = [(9, 12), (23, 29)]
FRAMES = 30
COPIES = [
    ("painted", 0, Grain()), ("painted", 30, Grain(3)), ("painted", 24, Grain(5, reseed=True)),
    ("drawn", 0, Grain(5, reseed=True)), ("drawn", 18, Grain()), ("drawn", 30, Grain()),
]  # fmt: skip


def frames(spans: list[tuple[int, int]]) -> list[int]:
    return [i for first, last in spans for i in range(first, last + 1)]


@pytest.mark.parametrize(("painter", "crf", "grain"), COPIES)
def test_first_and_last_dead_frame_are_exact(tmp_path: Path, painter: str, crf: int, grain: Grain) -> None:
    pictures = with_grain(PAINTERS[painter](acting(FRAMES, dead=DEAD)), grain)
    found = through_film(tmp_path, pictures, crf=crf).picture
    assert found is not None
    assert np.flatnonzero(found.repeats).tolist() == frames(DEAD)


@pytest.mark.parametrize(
    ("painter", "crf", "grain"), [("painted", 20, Grain(1.5, reseed=True)), ("painted", 24, Grain(2)), ("drawn", 24, Grain())]
)
def test_the_first_dead_frame_is_exact_where_an_encoder_makes_up_for_a_movement_on_it(
    tmp_path: Path, painter: str, crf: int, grain: Grain
) -> None:
    """HEVC spends little on moving pictures and mends the first picture that repeats; that picture is dead all the same."""
    pictures = with_grain(PAINTERS[painter](acting(FRAMES, dead=DEAD)), grain)
    found = through_film(tmp_path, pictures, crf=crf, codec="libx265").picture
    assert found is not None
    assert np.flatnonzero(found.repeats).tolist() == frames(DEAD)


@pytest.mark.parametrize(("painter", "crf", "grain"), COPIES)
def test_a_moving_hold_of_a_third_of_a_pixel_is_no_hold(tmp_path: Path, painter: str, crf: int, grain: Grain) -> None:
    """0.15 px of a film 960 wide is 0.3 px of one 1920 wide."""
    pictures = with_grain(PAINTERS[painter](drifting(FRAMES, 0.15)), grain)
    readings = through_film(tmp_path, pictures, crf=crf)
    assert judged(hold, readings) == ()


@pytest.mark.parametrize(("painter", "pan", "second"), [("painted", 2.5, True), ("drawn", 2.5, False), ("drawn", 0.0, True)])
@pytest.mark.parametrize("crf", [0, 30])
def test_a_frozen_figure_in_a_picture_that_moves_on(tmp_path: Path, painter: str, pan: float, second: bool, crf: int) -> None:
    dead = [(20, 25), (43, 49)]
    readings = through_film(tmp_path, PAINTERS[painter](acting(50, dead=dead, pan=pan, second=second)), crf=crf)
    assert readings.picture is not None
    assert not readings.picture.repeats.any()
    regions = [f for f in judged(hold, readings) if f.kind == "region"]
    assert [(f.span.start, f.span.last, f.value, f.weight) for f in regions] == [(20, 25, 6, "polish"), (43, 49, 7, "polish")]
    outline = np.array(regions[0].strokes[0].points)
    assert outline[:, 0].max() < 0.6, "the actor stands screen left"


def test_a_figure_that_never_stops_under_a_moving_camera_is_not_called_frozen(tmp_path: Path) -> None:
    readings = through_film(tmp_path, painted(acting(40, pan=2.5)), crf=24)
    assert judged(hold, readings) == ()


def test_a_blink_alone_is_two_live_frames(tmp_path: Path) -> None:
    poses = [Pose(mouth=0.7 if i in (12, 13) else 0.2) for i in range(24)]
    found = through_film(tmp_path, drawn(poses), crf=24).picture
    assert found is not None
    assert np.flatnonzero(~found.repeats).tolist() == [0, 12, 14]


def test_a_slow_change_of_light_is_no_repeat() -> None:
    still = next(drawn([Pose()])).astype(np.float32)
    fade = [np.clip(still * (1 - 0.004 * i), 0, 255).round().astype(np.uint8) for i in range(20)]
    found = read_pictures(fade).picture
    assert found is not None
    assert not found.repeats.any()


def test_nothing_but_grain_is_still_and_its_noise_is_told() -> None:
    quiet = read_pictures(with_grain(drawn([Pose()] * 12), Grain(2, reseed=True))).picture
    loud = read_pictures(with_grain(drawn([Pose()] * 12), Grain(6, reseed=True))).picture
    assert quiet is not None
    assert loud is not None
    assert quiet.repeats[1:].all()
    assert loud.repeats[1:].all()
    assert loud.noise / quiet.noise == pytest.approx(3, rel=0.2)


def test_the_same_clip_at_another_size_gives_the_same_dead_frames() -> None:
    sizes = [(640, 360), (1280, 720)]
    found = [read_pictures(drawn(acting(FRAMES, dead=DEAD), size)).picture for size in sizes]
    assert [np.flatnonzero(p.repeats).tolist() for p in found if p] == [frames(DEAD)] * 2


def test_one_frame_and_a_black_film_are_measured_without_complaint() -> None:
    one = read_pictures([np.zeros((90, 160, 3), np.uint8)]).picture
    black = read_pictures([np.zeros((90, 160, 3), np.uint8)] * 5).picture
    assert one is not None
    assert black is not None
    assert one.repeats.tolist() == [False]
    assert black.repeats.tolist() == [False, True, True, True, True]
