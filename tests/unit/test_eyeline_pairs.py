"""Two looks that answer each other: heights, across a cut, drawn points; both eyes together; looks that slide."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tests.make.reverse_shots import HALF, in_the_picture_alone, reverse_shots, stage
from tests.make.two_hander import Fault, at_level_2, rotate, two_hander

from shotcrit.checks.eyeline import check as eyeline
from shotcrit.checks.eyeline.eyes import vergence_deg
from shotcrit.checks.eyeline.judge import steady_frames
from shotcrit.checks.eyeline.pair import pairs_of, world_heights
from shotcrit.checks.finding import Finding
from shotcrit.checks.registry import limits_for
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import LookAt, Point
from shotcrit.readings.looks.wanted import ACROSS_CUT_DEG, CAMERAS_ALIKE, JudgedLook, Unknown, judged_looks

LIMITS = limits_for(eyeline, {})


def found(readings: Readings, kind: str) -> list[Finding]:
    return [f for f in eyeline.run(readings, LIMITS).findings if f.kind == kind]


def looks(readings: Readings) -> list[JudgedLook]:
    return [look for look in judged_looks(readings) if isinstance(look, JudgedLook)]


def turned(readings: Readings, who: str, degrees: np.ndarray, axis: np.ndarray, sides: tuple[str, ...] = ("left", "right")) -> Readings:
    """Eyes turned by `degrees` [shape=(n,)] about a camera axis, in the picture and in the world."""
    acting = []
    for actor in readings.acting:
        gaze = dict(actor.gaze)
        for side in sides if actor.who == who else ():
            eye = gaze[side]
            seen = np.array([rotate(d, axis, a) for d, a in zip(eye.direction.astype(float), degrees, strict=True)])
            world = eye.world_direction
            if world is not None:
                world = np.array([c.world_to_camera[:3, :3].T @ d for c, d in zip(readings.cameras, seen, strict=True)], np.float32)
            gaze[side] = replace(eye, direction=seen.astype(np.float32), world_direction=world)
        acting.append(replace(actor, gaze=gaze))
    return replace(readings, acting=tuple(acting))


DOWN_AXIS = np.array([0.0, 1.0, 0.0])


@pytest.mark.parametrize("seed", range(3000, 3020))
def test_heights_are_those_of_scipy_whatever_the_cameras(seed: int) -> None:
    """Independent: scipy turns each camera's gaze back into the world by the inverse of the camera's rotation, and the elevation is its pitch."""
    readings = reverse_shots(stage(seed), Fault(up=float(seed % 7) - 3))
    pairs = pairs_of(readings, looks(readings), LIMITS)
    (pair,) = pairs  # each counts where the picture shows them, on their own side of the cut
    ours = dict(zip((pair.one.who, pair.other.who), world_heights(readings, pair), strict=True))
    for actor, frame in zip(readings.acting, (HALF // 2, HALF + HALF // 2), strict=True):
        mean = np.mean([eye.direction[frame] for eye in actor.gaze.values()], axis=0)
        world = Rotation.from_matrix(readings.cameras[frame].world_to_camera[:3, :3]).inv().apply(mean)
        assert ours[actor.who] == pytest.approx(np.degrees(np.arctan2(world[1], np.hypot(world[0], world[2]))), abs=0.1)
    if seed % 7 == 3:  # no fault: the one looks up by as much as the other looks down
        assert sum(ours.values()) == pytest.approx(0, abs=0.3)


def test_each_seen_only_in_a_shot_of_their_own_is_paired_across_the_cut() -> None:
    readings = reverse_shots(stage(3050), Fault())
    hidden = [slice(HALF, 2 * HALF), slice(0, HALF)]
    acting = []
    for actor, gone in zip(readings.acting, hidden, strict=True):
        gaze = {}
        for side, eye in actor.gaze.items():
            direction = eye.direction.copy()
            direction[gone] = np.nan
            gaze[side] = replace(eye, direction=direction)
        acting.append(replace(actor, gaze=gaze))
    apart = replace(readings, acting=tuple(acting))
    (pair,) = pairs_of(apart, looks(apart), LIMITS)
    assert not pair.together
    assert sum(world_heights(apart, pair)) == pytest.approx(0, abs=0.3)


def test_heights_that_do_not_answer_each_other_are_told_where_each_look_alone_passes() -> None:
    """1.9 degrees too high each: within what counts as the other's face, but more than 3 between them."""
    for seed in range(3100, 3104):
        readings, _ = two_hander(seed, Fault(up=1.9))
        across = np.cross(looks(readings)[1].eyes.direction[0], [0, -1, 0])
        both = turned(readings, "Ben", np.full(12, 1.9), across / np.linalg.norm(across))
        between = sum(world_heights(both, pairs_of(both, looks(both), LIMITS)[0]))
        assert between > 3.0
        (heights,) = found(both, "heights")
        assert heights.value == pytest.approx(between, abs=0.06)
        assert heights.who == "Ada and Ben"
        assert f"together {between:.0f} degrees too high" in heights.says
        assert not found(both, "off_target")
        assert not found(readings, "heights")


def test_in_one_picture_two_looks_that_pass_each_other_need_no_depth() -> None:
    hits = 0
    for seed in range(3200, 3212):
        readings = at_level_2(two_hander(seed, Fault(right=14))[0], seed, 1.0)
        for f in found(readings, "do_not_meet"):
            hits += 1
            assert (f.who, f.suggest.endswith("the picture doesn't tell whose are off.")) == ("Ada and Ben", True)
            assert f.weight == "polish"
        clean = at_level_2(two_hander(seed, Fault())[0], seed, 1.0)
        assert not found(clean, "do_not_meet")
        assert not found(clean, "heights")
    assert hits >= 9


def test_what_mirrors_the_other_s_look_across_a_cut_accuses_nobody_here() -> None:
    """It tells of two looks that they miss each other, never whose is off: one finding of the check `cut`, about both (test_cut_gaze)."""
    for seed in range(3300, 3310):
        readings = in_the_picture_alone(reverse_shots(stage(seed, level=True), Fault(up=30)), seed)
        for look in looks(readings):
            assert (look.across_cut, look.rests_on) == (True, (CAMERAS_ALIKE,))
            assert look.across_deg[0] >= ACROSS_CUT_DEG
        assert not found(readings, "off_target")
        assert not found(readings, "heights")


def test_two_that_each_seem_off_in_the_picture_are_one_finding_about_both_or_none() -> None:
    """Heads of unlike size put the other too near or too far, so both looks seem to miss: they run along one line, and nothing is said."""
    for seed in range(3320, 3332):
        readings = at_level_2(two_hander(seed, Fault())[0], seed, 1.0)
        giant = [replace(a, head=replace(a.head, height_px=a.head.height_px * (1.9 if a.who == "Ben" else 1.0))) for a in readings.acting]
        told = eyeline.run(replace(readings, acting=tuple(giant)), LIMITS).findings
        assert {f.who for f in told if f.kind == "off_target"} != {"Ada", "Ben"}, seed


def test_without_the_other_side_of_the_cut_it_says_what_it_needs() -> None:
    readings = in_the_picture_alone(reverse_shots(stage(3400), Fault()), 3400)
    alone = replace(readings, acting=readings.acting[:1])
    (unknown,) = [look for look in judged_looks(alone) if isinstance(look, Unknown) and look.who == "Ada"]
    assert "on the other side of a cut" in unknown.needs
    assert "drawn target" in unknown.needs


@pytest.mark.parametrize(("up", "told"), [(0, False), (14, True), (-14, True)])
def test_a_target_drawn_as_a_point_of_the_picture(up: float, told: bool) -> None:
    """The point is where Ben's eyes are; how deep it lies is assumed, and said; too high and too low are seen all the same."""
    for seed in range(3500, 3506):
        readings, _ = two_hander(seed, Fault(up=up))
        x, y = readings.acting[1].gaze["left"].origin[0]
        if not (0 <= x <= 1 and 0 <= y <= 1):
            continue
        drawn = (LookAt(who="Ada", at=Point(x=float(x), y=float(y))),)
        seen = at_level_2(replace(readings, acting=readings.acting[:1], cast=readings.cast.model_copy(update={"looks": drawn})), seed, 1.0)
        off = found(seen, "off_target")
        assert bool(off) is told
        assert all(f.says.endswith("the lens is an ordinary one.") for f in off)
        assert all(("looks over" in f.says or "looks well over" in f.says) == (up > 0) for f in off)


@pytest.mark.parametrize(("slide", "told"), [(0.0, False), (2.5, False), (8.0, True)])
@pytest.mark.parametrize("level", [2, 3])
def test_eyes_that_slide_off_while_they_should_hold(level: int, slide: float, told: bool) -> None:
    readings, _ = two_hander(11, Fault(), frames=48)
    if level == 2:
        readings = at_level_2(readings, 11, 0.3)
    # Held for 32 frames, then off in one slow slide: over the whole look the mean is still on the target.
    readings = turned(readings, "Ada", np.concatenate([np.zeros(32), np.linspace(0, slide, 16)]), DOWN_AXIS)
    slid = found(readings, "drift") + found(readings, "off_target")
    assert bool([f for f in slid if f.who == "Ada"]) is told
    if told and level == 3:
        (drift,) = [f for f in slid if f.kind == "drift"]
        assert drift.value == pytest.approx(slide * 10 / 16, abs=1.0)


@pytest.mark.parametrize(("degrees", "told"), [(1.0, False), (6.0, True)])
def test_one_eye_higher_than_the_other(degrees: float, told: bool) -> None:
    readings, _ = two_hander(12, Fault())
    look = looks(readings)[0]
    level = np.cross(look.eyes.direction[0], [0, 1, 0])
    frames = len(readings.clock)
    readings = turned(readings, "Ada", np.full(frames, degrees), level, ("left",))
    disagree = [f for f in found(readings, "eyes_disagree") if f.who == "Ada"]
    assert bool(disagree) is told
    for f in disagree:
        higher = readings.acting[0].gaze["left"].direction[0, 1] < readings.acting[0].gaze["right"].direction[0, 1]
        assert f"Ada's {'left' if higher else 'right'} eye" in f.says


@pytest.mark.parametrize("seed", range(3600, 3606))
def test_the_sign_of_vergence(seed: int) -> None:
    """Eyes that aim at one point cross in front of the face (+, 2 atan of half their distance over the target's); swapped, they part (-)."""
    readings, _ = two_hander(seed, Fault())
    look = looks(readings)[0]
    frames = steady_frames(readings, look, LIMITS)
    asked = 2 * np.degrees(np.arctan(0.032 / look.distance_m[0]))
    assert vergence_deg(look, frames) == pytest.approx(asked, abs=0.05)
    left, right = look.actor.gaze["left"], look.actor.gaze["right"]
    swapped = {"left": replace(left, world_direction=right.world_direction), "right": replace(right, world_direction=left.world_direction)}
    assert vergence_deg(replace(look, actor=replace(look.actor, gaze=swapped)), frames) == pytest.approx(-asked, abs=0.05)


@pytest.mark.parametrize(("inward", "says"), [(12.0, "cross in front of"), (-12.0, "look past"), (3.0, None)])
def test_eyes_that_cross_too_near_or_part(inward: float, says: str | None) -> None:
    """Each eye turned by half of `inward` towards the other (+) or away from it."""
    readings, _ = two_hander(13, Fault())
    acting = []
    for actor in readings.acting:
        gaze = {}
        for side, eye in actor.gaze.items():
            to_left = actor.gaze["left"].world_origin[0] - actor.gaze["right"].world_origin[0]
            half = inward / 2 * (1 if side == "right" else -1) * (1 if actor.who == "Ada" else 0)
            world = np.array([rotate(d, np.cross(d, to_left), half) for d in eye.world_direction.astype(float)])
            seen = np.array([c.world_to_camera[:3, :3] @ d for c, d in zip(readings.cameras, world, strict=True)])
            gaze[side] = replace(eye, direction=seen.astype(np.float32), world_direction=world.astype(np.float32))
        acting.append(replace(actor, gaze=gaze))
    wrong = found(replace(readings, acting=tuple(acting)), "not_converged")
    assert [says in f.says for f in wrong] == ([True] if says else [])
    assert all(f.value == pytest.approx(inward, abs=0.1) for f in wrong)
