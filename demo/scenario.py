"""Other small shots of one head, with arbitrary poses and known answers: what a test's film needs. See README.md for the file.

Values are a number, a list with one number a frame, or {"keys": [[frame, value], ...]}. Angles are degrees; the character stands at the origin and
faces +z; the camera is placed in the world. Gaze angles are of the eyes in the head: yaw to the own left, pitch down, are positive.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

import gaze
import pack
import puppets
import render
import story
import truth
from acting import breathe, point_camera
from curves import eased
from rig import HEAD_M, SIDES, Pose, euler

MORPHS = ("gap", "jaw", "wide", "round", "bite", "press", "smile", "sad")
CAMERA = "CamC"
LEAN_ON = {"hips_x": 0, "hips_y": 1, "hips_z": 2}


def values(spec: Any, n: int, default: float = 0.0) -> np.ndarray:
    """[n] from a number, a list or keys."""
    if spec is None:
        return np.full(n, default)
    if isinstance(spec, dict):
        return eased([tuple(k) for k in spec["keys"]], np.arange(n, dtype=float))
    return np.broadcast_to(np.asarray(spec, float), (n,)).copy()


def posed(spec: Mapping[str, Any]) -> tuple[Pose, dict]:
    """The pose and the page's dictionary of one scenario."""
    n, who = int(spec["frames"]), spec["who"]
    rig, pose, given = puppets.rig(), Pose(int(spec["frames"])), spec.get("pose", {})
    read = lambda name, default=0.0: values(given.get(name), n, default)  # noqa: E731
    pose.move[f"{who}_hips"] = rig.rest[f"{who}_hips"] + np.stack([read(k) for k in LEAN_ON], -1)
    breathe(pose, rig, who, read("breath"))
    pose.turn[f"{who}_head"] = euler(read("head_yaw"), read("head_pitch"), read("head_roll"), n=n)
    pose.turn[f"{who}_spine"] = euler(read("body_yaw"), read("lean"), n=n)
    _mouth(pose, who, {k: read(k) for k in MORPHS})
    for side, sign in SIDES:
        pose.turn[f"{who}_arm_{side}"] = euler(0, 0, sign * 9, n=n)
        pose.turn[f"{who}_eye_{side}"] = euler(read("gaze_yaw"), read("gaze_pitch"), n=n)
        pose.move[f"{who}_brow_{side}"] = rig.rest[f"{who}_brow_{side}"] + np.stack(
            [0 * read("brow_up"), 0.016 * read("brow_up"), 0 * read("brow_up")], -1
        )
        lids = gaze.lid_angles(read("gaze_pitch"), read("blink"), read("squint"), read("brow_up"))
        for part, angle in zip(("upper", "lower"), lids, strict=True):
            pose.turn[f"{who}_lid_{part}_{side}"] = euler(0, angle, n=n)
    _camera(pose, spec.get("camera", {}), n)
    return pose, page(spec, pose, who)


def _mouth(pose: Pose, who: str, weights: dict[str, np.ndarray]) -> None:
    rig = puppets.rig()
    for each in puppets.LOOKS:
        pose.morphs[each] = weights if each == who else {k: np.zeros(pose.n) for k in MORPHS}
    pose.turn[f"{who}_jaw"] = euler(0, 17.0 * weights["jaw"], n=pose.n)
    for mark, moves in puppets.mouth_moves(who).items():
        pose.move[f"{who}_{mark}"] = rig.rest[f"{who}_{mark}"] + sum(weights[k][:, None] * d for k, d in moves.items()) * HEAD_M


def _camera(pose: Pose, spec: Mapping[str, Any], n: int) -> None:
    """CamC, whose lens is story.FOCAL_MM[2]."""
    at = np.stack([values(v, n) for v in spec.get("at", (0.0, 1.05, 1.9))], -1)
    towards = np.stack([values(v, n) for v in spec.get("towards", (0.0, 1.0, 0.0))], -1)
    point_camera(pose, CAMERA, at, towards, values(spec.get("roll"), n))


def page(spec: Mapping[str, Any], pose: Pose, who: str) -> dict:
    n = pose.n
    shot = {"first": 0, "last": n - 1, "camera": CAMERA, "blur_px": spec.get("blur_px", 6.0), "light": spec.get("light", (1.2, 2.1, 2.6))}
    others = [w for w in (*puppets.LOOKS, "Lantern") if w != who]
    hidden = [{"who": w, "first": 0, "last": n - 1} for w in others]
    time = np.arange(n) / story.FPS
    return pack.take_dict(pose, shots=[shot], hidden=hidden, time=time, flame=np.full(n, spec.get("flame", 0.3)), boat_light=np.zeros(n))


def answers(pose: Pose, who: str) -> dict[str, np.ndarray]:
    """Marks in the picture, mouth, eye directions in the camera's frame (x screen right, y down, z into the picture)."""
    out = {}
    for mark, node in truth.MARKS.items():
        out[f"{who}.mark.{mark}"] = truth.project_by(pose, truth.node_at(pose, f"{who}_{node}"), CAMERA, story.FOCAL_MM[2])
    shots = [{"first": 0, "last": pose.n - 1, "camera": CAMERA}]
    camera = pose.world(puppets.rig(), CAMERA)[:, :3, :3]
    for side, _ in SIDES:
        edge = truth.eye_edge(pose, who, side, shots)
        out[f"{who}.mark.eye_{side}_edge"] = truth.project_by(pose, edge, CAMERA, story.FOCAL_MM[2])
        forward = pose.world(puppets.rig(), f"{who}_eye_{side}")[:, :3, 2]
        out[f"{who}.gaze_camera_{side}"] = np.einsum("nji,nj->ni", camera, forward) * np.array([1.0, -1.0, -1.0])
    out |= {f"{who}.{k}": v for k, v in truth.mouth(pose, who).items()}
    return {k: v.astype(np.float32) for k, v in out.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description="Draw one scenario: PNG or JPEG frames, a silent movie and its known answers.")
    parser.add_argument("scenario", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--build", type=Path, default=render.HERE / "build")
    parser.add_argument("--width", type=int, default=1280)
    parser.add_argument("--answers-only", action="store_true")
    args = parser.parse_args()
    spec = json.loads(args.scenario.read_text(encoding="utf-8"))
    pose, data = posed(spec)
    args.out.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(args.out / f"{spec['name']}.npz", **answers(pose, spec["who"]))
    if args.answers_only:
        return
    render.write_scene(args.build)
    (args.build / f"{spec['name']}.json").write_text(json.dumps(data))
    folder = render.draw(args.build, spec["name"], data, list(range(pose.n)), width=args.width)
    render.encode(folder, None, args.out / f"{spec['name']}.mp4")


if __name__ == "__main__":
    main()
