"""The one place where a take's movement is computed: from the story and a take's faults to every node, every frame.

`u` holds, for each frame of the take, where it stands on the clean story's clock (fractions when slowed, one value repeated when dead).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial.transform import Rotation

import articulation
import gaze
import puppets
import story
from curves import alive, eased, follow, ramp
from rig import FOREARM_M, HEAD_M, SHIN_M, SIDES, THIGH_M, UPPER_ARM_M, Pose, Rig, aim, euler, reach, to_local
from voices import Phone

LIFT_M = 0.010
"""Rise of the chest in a deep breath; the shoulders rise by the same again."""
REST_BREATH = 0.10
"""Of a deep breath: what a body does all the time."""


@dataclass(frozen=True)
class Faults:
    """What is planted; the default is clean. Frames on the story's clock."""

    mouth_late: Mapping[int, float] = field(default_factory=dict)
    """line -> frames."""
    unclosed: tuple[float, ...] = ()
    """Start times (s, story's clock) of closures left out."""
    unacted_breaths: tuple[float, ...] = ()
    eyes_up: tuple[tuple[str, int, int, float], ...] = ()
    """who, first, last, degrees."""
    slide: tuple[tuple[int, float], ...] = ()
    """(frame, metres along the grip), reached on that frame."""
    knee: tuple[int, int, float] | None = None
    """first, last, metres."""
    no_blinks: tuple[tuple[str, int, int], ...] = ()


@dataclass(frozen=True)
class Performance:
    """lifts : character -> breath 0..1; mouths : character -> articulation weights; aims : character -> gaze targets, world [n, 3]."""

    pose: Pose
    lifts: dict[str, np.ndarray]
    mouths: dict[str, dict[str, np.ndarray]]
    aims: dict[str, np.ndarray]
    flame: np.ndarray


def perform(u: np.ndarray, phones: Mapping[int, Sequence[Phone]], faults: Faults) -> Performance:
    """phones : line -> phones in seconds on the story's clock."""
    rig = puppets.rig()
    pose = Pose(len(u))
    lifts = {who: breathing(u, who, faults) for who in puppets.LOOKS}
    for seed, who in enumerate(puppets.LOOKS):
        _body(pose, rig, who, u, lifts[who], seed * 100)
        _legs(pose, rig, who, u, faults if who == "Bram" else Faults())
        _arms(pose, rig, who, u, seed * 100)
    _lantern(pose, rig, u, faults)
    _cameras(pose, rig, u)
    flame = eased(story.FLAME, u) * (1 + alive(u, 77, 0.05, 13.0))
    aims = {who: gaze.look(pose, rig, who, u, faults) for who in puppets.LOOKS}
    mouths = {who: _face(pose, rig, who, u, phones, lifts[who], faults) for who in puppets.LOOKS}
    return Performance(pose, lifts, mouths, aims, flame)


def breathing(u: np.ndarray, who: str, faults: Faults) -> np.ndarray:
    """0..1: rises through each acted breath, is let out over the words after it."""
    out = REST_BREATH * (0.5 - 0.5 * np.cos(2 * np.pi * (u + (20 if who == "Oona" else 62)) / 80.0))
    for breath in story.BREATHS:
        if breath.who == who and breath.start not in faults.unacted_breaths:
            start, length = breath.start * story.FPS, breath.length * story.FPS
            out = out + breath.lift * ramp(u, start - 1.5, start + length + 0.5) * (1 - ramp(u, start + length + 1, start + length + 40))
    return out


def _body(pose: Pose, rig: Rig, who: str, u: np.ndarray, lift: np.ndarray, seed: int) -> None:
    n = pose.n
    at, yaw = story.PLACES[who]
    curve = {k: eased(keys, u) for k, keys in story.CURVES[who].items()}
    pose.move[f"{who}_root"] = np.tile(np.asarray(at, float), (n, 1))
    pose.turn[f"{who}_root"] = euler(yaw, n=n)
    sway = np.stack([alive(u, seed + 1, 0.009, 58), alive(u, seed + 2, 0.001, 50), alive(u, seed + 3, 0.007, 47)], -1)
    pose.move[f"{who}_hips"] = rig.rest[f"{who}_hips"] + sway
    pose.turn[f"{who}_spine"] = euler(
        0.6 * curve["twist"], 0.7 * curve["lean"] + alive(u, seed + 4, 0.4, 75), alive(u, seed + 5, 1.3, 61), n=n
    )
    breathe(pose, rig, who, lift)
    pose.turn[f"{who}_chest"] = euler(0.4 * follow(curve["twist"], 2), 0.3 * follow(curve["lean"], 2) - 1.6 * lift, n=n)
    nod = curve["head_pitch"] + alive(u, seed + 6, 1.5, 31) + 1.1 * lift - 0.75 * curve["lean"]
    turn = curve["head_yaw"] - 0.6 * curve["twist"] + alive(u, seed + 7, 1.7, 41)
    tilt = curve["head_roll"] + alive(u, seed + 8, 1.3, 53)
    pose.turn[f"{who}_neck"] = euler(0.4 * follow(turn, 1.2), 0.4 * follow(nod, 1.2), 0.3 * tilt, n=n)
    pose.turn[f"{who}_head"] = euler(0.6 * turn, 0.6 * nod, 0.7 * tilt, n=n)


def breathe(pose: Pose, rig: Rig, who: str, lift: np.ndarray) -> None:
    """Chest up and out, shoulders up. lift : [n], 1 = a deep breath."""
    pose.move[f"{who}_chest"] = rig.rest[f"{who}_chest"] + lift[:, None] * np.array([0, 0.6, 0.1]) * LIFT_M
    pose.scale[f"{who}_ribs"] = 1 + lift[:, None] * np.array([0.022, 0.008, 0.055])
    for side, _ in SIDES:
        pose.move[f"{who}_shoulder_{side}"] = rig.rest[f"{who}_shoulder_{side}"] + lift[:, None] * np.array([0, 1.0, 0]) * LIFT_M


def _place(pose: Pose, rig: Rig, node: str, at: np.ndarray) -> np.ndarray:
    """Points of a node's frame, in the world."""
    world = pose.world(rig, node)
    return np.einsum("nij,nj->ni", world[:, :3, :3], np.broadcast_to(at, (pose.n, 3))) + world[:, :3, 3]


def _legs(pose: Pose, rig: Rig, who: str, u: np.ndarray, faults: Faults) -> None:
    root = pose.world(rig, f"{who}_root")
    bob = np.zeros(pose.n)
    if faults.knee is not None:
        first, last, size = faults.knee
        gate = ramp(u, first - 2, first + 2) * (1 - ramp(u, last - 2, last + 2))
        bob = gate * size * (0.5 - 0.5 * np.cos(2 * np.pi * (u - first) / 8.0))
    for side, sign in SIDES:
        hips = pose.world(rig, f"{who}_hips")
        start = pose.world(rig, f"{who}_thigh_{side}")[:, :3, 3]
        high = bob if side == "left" else np.zeros(pose.n)
        goal = np.stack([np.full(pose.n, sign * 0.10), 0.115 - story.PLACES[who][0][1] + high, np.full(pose.n, 0.30)], -1)
        goal = _place(pose, rig, f"{who}_root", goal)
        pole = root[:, :3, :3] @ np.array([sign * 0.12, 0.55, 1.0])
        upper, lower = reach(start, goal, THIGH_M, SHIN_M, pole)
        pose.turn[f"{who}_thigh_{side}"] = to_local(hips, upper)
        pose.turn[f"{who}_knee_{side}"] = to_local(pose.world(rig, f"{who}_thigh_{side}"), lower)
        pose.turn[f"{who}_foot_{side}"] = to_local(pose.world(rig, f"{who}_knee_{side}"), root[:, :3, :3] @ _turned(sign * 8, 0, 0))


def _turned(yaw: float, pitch: float, roll: float) -> np.ndarray:
    return Rotation.from_euler("YXZ", [yaw, pitch, roll], degrees=True).as_matrix()


def _arms(pose: Pose, rig: Rig, who: str, u: np.ndarray, seed: int) -> None:
    root = pose.world(rig, f"{who}_root")[:, :3, :3]
    for side, sign in SIDES:
        keys = [story.CURVES[who][f"hand_{side}_{axis}"] for axis in "xyz"]
        goal = np.stack([eased(k, u) + alive(u, seed + 20 + j, 0.0016, 43) for j, k in enumerate(keys)], -1)
        raised = np.clip((goal[:, 1] - 0.56) / 0.2, 0, 1)
        goal = _place(pose, rig, f"{who}_root", goal)
        pole = root @ np.array([sign * 0.9, -0.8, -0.35])
        shoulder = pose.world(rig, f"{who}_shoulder_{side}")
        upper, lower = reach(shoulder[:, :3, 3], goal, UPPER_ARM_M, FOREARM_M, pole)
        pose.turn[f"{who}_arm_{side}"] = to_local(shoulder, upper)
        pose.turn[f"{who}_forearm_{side}"] = to_local(pose.world(rig, f"{who}_arm_{side}"), lower)
        pose.turn[f"{who}_hand_{side}"] = to_local(pose.world(rig, f"{who}_forearm_{side}"), root @ _wrist(who, side, sign, raised))


def _wrist(who: str, side: str, sign: float, raised: np.ndarray) -> np.ndarray:
    """In the root's frame: flat on the lap, or lifted with the palm up and out; a gripping hand hangs level over what it holds."""
    n = len(raised)
    if side in puppets.HANDS[who]:
        return np.broadcast_to(_turned(24, -22, 0), (n, 3, 3))
    lap, up = Rotation.from_matrix(_turned(180 - sign * 14, 80, 0)), Rotation.from_matrix(_turned(180 + sign * 35, 158, 0))
    part = raised * raised * (3 - 2 * raised)
    between = (lap.inv() * up).as_rotvec()
    return (Rotation.from_matrix(np.repeat(lap.as_matrix()[None], n, 0)) * Rotation.from_rotvec(part[:, None] * between)).as_matrix()


def _lantern(pose: Pose, rig: Rig, u: np.ndarray, faults: Faults) -> None:
    """The grip goes with the hand, rigidly; the body hangs under it and swings a little after it."""
    grip = pose.world(rig, "Bram_grip")
    slip = np.zeros(pose.n)
    for frame, metres in faults.slide:
        slip = np.where((u >= frame - 1e-6) & (u < story.CUTS[0]), metres, slip)
    pose.move["Lantern"] = grip[:, :3, 3] + grip[:, :3, 0] * slip[:, None]
    pose.turn["Lantern"] = Rotation.from_matrix(grip[:, :3, :3]).as_quat()
    upright = Rotation.from_matrix(grip[:, :3, :3]).inv()
    yaw = np.degrees(np.arctan2(grip[:, 0, 2], grip[:, 2, 2]))
    pushed = follow(grip[:, 1, 3], 5) - grip[:, 1, 3]
    swing = 2.0 * np.sin(u / 5.2) * np.clip(0.35 + np.abs(pushed) * 22, 0, 1.3) + alive(u, 91, 0.8, 33)
    pose.turn["Lantern_body"] = (upright * Rotation.from_quat(euler(yaw, swing, 0, n=pose.n))).as_quat()
    pose.scale["Lantern_flame"] = 1 + np.stack([alive(u, 92, 0.05, 9), alive(u, 93, 0.14, 11), alive(u, 94, 0.05, 9)], -1)


def _cameras(pose: Pose, rig: Rig, u: np.ndarray) -> None:
    for name, (xs, zs) in story.EYES_AT.items():
        at = np.stack([eased(xs, u) + alive(u, 61, 0.003, 90), story.HEIGHTS[name] + alive(u, 62, 0.002, 80), eased(zs, u)], -1)
        point_camera(pose, name, at, np.asarray(story.AIMS[name]) + np.stack([alive(u, 63, 0.002, 75)] * 3, -1), alive(u, 64, 0.12, 95))
    drift = np.stack([alive(u, 66 + k, size, 85) for k, size in enumerate((0.004, 0.0012, 0.004))], -1)
    own_eyes, his_face = np.asarray(story.OWN_VIEW)
    point_camera(pose, "CamB", own_eyes + drift, his_face + drift * 0.5, alive(u, 65, 0.25, 70))


def point_camera(pose: Pose, name: str, at: np.ndarray, towards: np.ndarray, roll: np.ndarray) -> None:
    """A camera looks along its own -z."""
    yaw, pitch = aim(at - towards)
    pose.move[name] = at
    pose.turn[name] = euler(yaw, pitch, roll, n=pose.n)


def _face(
    pose: Pose, rig: Rig, who: str, u: np.ndarray, phones: Mapping[int, Sequence[Phone]], lift: np.ndarray, faults: Faults
) -> dict[str, np.ndarray]:
    curve = {k: eased(story.CURVES[who][k], u) for k in ("smile", "sad", "brow_up", "brow_in")}
    mouth = _speech(who, u, phones, faults)
    mouth["smile"], mouth["sad"] = curve["smile"], curve["sad"] * (1 - np.clip(mouth["gap"] * 2, 0, 0.7))
    inhaled = np.clip(np.gradient(lift) / 0.10, 0, 1) * (lift > REST_BREATH * 1.05)
    drawn = follow(inhaled, 0.8)
    mouth["gap"] = np.maximum(mouth["gap"], 0.17 * drawn)
    mouth["jaw"] = np.maximum(mouth["jaw"], 0.26 * drawn)
    pose.morphs[who] = {k: mouth[k] for k in ("gap", "jaw", "wide", "round", "bite", "press", "smile", "sad")}
    pose.turn[f"{who}_jaw"] = euler(0, 17.0 * mouth["jaw"], n=pose.n)
    pose.turn[f"{who}_tongue"] = euler(0, -26 * mouth["tongue"] + 6, n=pose.n)
    for mark, moves in puppets.mouth_moves(who).items():
        pose.move[f"{who}_{mark}"] = rig.rest[f"{who}_{mark}"] + sum(pose.morphs[who][k][:, None] * d for k, d in moves.items()) * HEAD_M
    _brows(pose, rig, who, u, curve)
    return mouth


def _speech(who: str, u: np.ndarray, phones: Mapping[int, Sequence[Phone]], faults: Faults) -> dict[str, np.ndarray]:
    mine = {p.line for p in story.PHRASES if p.who == who}
    out = {part: np.zeros(len(u)) for part in articulation.PARTS}
    for line in mine:
        late = faults.mouth_late.get(line, 0.0)
        for part, values in articulation.mouth(phones[line], u - late, unclosed=faults.unclosed).items():
            out[part] = np.maximum(out[part], values)
    return out


def _brows(pose: Pose, rig: Rig, who: str, u: np.ndarray, curve: Mapping[str, np.ndarray]) -> None:
    for side, sign in SIDES:
        rest = rig.rest[f"{who}_brow_{side}"]
        up = curve["brow_up"] + (alive(u, 31 if sign > 0 else 32, 0.06, 37))
        pose.move[f"{who}_brow_{side}"] = rest + np.stack(
            [0 * u - sign * 0.006 * curve["brow_in"] * HEAD_M / 0.3, 0.016 * up, 0.002 * up], -1
        )
        pose.turn[f"{who}_brow_{side}"] = euler(0, 0, -sign * (9 * curve["brow_in"] - 3) * 1.0, n=pose.n)
