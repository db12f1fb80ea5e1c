"""Generated scenes of two people who look at each other, with known eye lines, without any renderer. World: metres, y up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.media.info import MovieInfo
from shotcrit.readings.acting import Acting, CameraView, Gaze, Head, MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Cast, parse_cast

WIDTH, HEIGHT = 1920, 1080
EYES_APART = 0.064


@dataclass(frozen=True)
class Fault:
    """What is wrong with Ada's look: degrees to screen right and up, applied to both eyes as the camera sees them."""

    right: float = 0.0
    up: float = 0.0


def movie_info(frames: int, rate: Fraction = Fraction(24)) -> MovieInfo:
    return MovieInfo(
        path=Path("two.mov"), name="two.mov", sha256="0" * 64, frames=frames, rate=rate, variable_rate=False, width=WIDTH, height=HEIGHT,
        first_frame=1, duration_s=Fraction(frames) / rate, sound=None,
    )  # fmt: skip


def look_at_matrix(eye: np.ndarray, target: np.ndarray) -> np.ndarray:
    """world_to_camera of a camera at `eye` that looks at `target`: x right, y down, z forward."""
    forward = (target - eye) / np.linalg.norm(target - eye)
    right = np.cross(forward, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    turn = np.stack([right, down, forward])
    out = np.eye(4)
    out[:3, :3], out[:3, 3] = turn, -turn @ eye
    return out


def rotate(direction: np.ndarray, axis: np.ndarray, degrees: float) -> np.ndarray:
    """Rodrigues' rotation, the textbook formula."""
    angle = np.radians(degrees)
    k = axis / np.linalg.norm(axis)
    return direction * np.cos(angle) + np.cross(k, direction) * np.sin(angle) + k * np.dot(k, direction) * (1 - np.cos(angle))


def lens_matrix(focal_px: float) -> np.ndarray:
    return np.array([[focal_px, 0, WIDTH / 2], [0, focal_px, HEIGHT / 2], [0, 0, 1]], np.float32)


def project(points: np.ndarray, pose: np.ndarray, focal_px: float) -> np.ndarray:
    seen = points @ pose[:3, :3].T + pose[:3, 3]
    return np.stack([focal_px * seen[:, 0] / seen[:, 2] / WIDTH + 0.5, focal_px * seen[:, 1] / seen[:, 2] / HEIGHT + 0.5], axis=1)


def actor(name: str, eyes: np.ndarray, aims: np.ndarray, pose: np.ndarray, focal_px: float, frames: int) -> Acting:
    """eyes, aims : world [shape=(2, 3)], the character's left then right eye, and the unit direction of each."""
    gaze = {}
    for side, eye, aim in zip(("left", "right"), eyes, aims, strict=True):
        seen = (pose[:3, :3] @ aim)[None]
        origin = project(eye[None], pose, focal_px)
        gaze[side] = Gaze(
            origin=np.repeat(origin, frames, axis=0).astype(np.float32),
            direction=np.repeat(seen, frames, axis=0).astype(np.float32),
            error_deg=np.zeros(frames, np.float32),
            iris=np.repeat(project((eye + 0.012 * aim)[None], pose, focal_px), frames, axis=0).astype(np.float32),
            world_origin=np.repeat(eye[None], frames, axis=0).astype(np.float32),
            world_direction=np.repeat(aim[None], frames, axis=0).astype(np.float32),
        )
    nose = eyes.mean(axis=0)
    track = MarkTrack(
        name, "nose", np.repeat(project(nose[None], pose, focal_px), frames, axis=0).astype(np.float32), np.zeros(frames, np.float32),
        world=np.repeat(nose[None], frames, axis=0).astype(np.float32),
    )  # fmt: skip
    return Acting(who=name, level=3, marks={"nose": track}, gaze=gaze)


def eyes_of_head(centre: np.ndarray, facing: np.ndarray) -> np.ndarray:
    """Left and right eye of a head that faces along `facing`, world."""
    left = np.cross([0.0, 1.0, 0.0], facing)
    left /= np.linalg.norm(left)
    return np.stack([centre + left * EYES_APART / 2, centre - left * EYES_APART / 2])


def two_hander(seed: int, fault: Fault, *, at_lens: bool = False, frames: int = 12) -> tuple[Readings, np.ndarray]:
    """Ada and Ben somewhere in front of a camera. Ada looks at Ben (or the lens), off by `fault`; Ben looks at Ada.

    Returns the readings and Ada's true mean aim, world.
    """
    random = np.random.default_rng(seed)
    ada = np.array([random.uniform(-1.2, -0.3), random.uniform(1.2, 1.8), random.uniform(-0.5, 0.5)])
    ben = np.array([random.uniform(0.3, 1.2), random.uniform(1.0, 1.8), random.uniform(-0.5, 0.5)])
    camera = np.array([random.uniform(-0.5, 0.5), random.uniform(1.2, 1.9), random.uniform(2.5, 4.5)])
    pose, focal = look_at_matrix(camera, (ada + ben) / 2), random.uniform(1200, 2600)
    target = camera if at_lens else ben
    wanted = (target - ada) / np.linalg.norm(target - ada)
    aim = off_by(wanted, pose, fault)
    ada_eyes, ben_eyes = eyes_of_head(ada, wanted), eyes_of_head(ben, (ada - ben) / np.linalg.norm(ada - ben))
    # Each eye aims at the same point, at the target's distance along the (faulty) mean aim.
    point = ada + aim * np.linalg.norm(target - ada)
    ada_aims = np.stack([(point - eye) / np.linalg.norm(point - eye) for eye in ada_eyes])
    ben_aims = np.stack([(ada - eye) / np.linalg.norm(ada - eye) for eye in ben_eyes])
    cast: Cast = parse_cast(
        {
            "characters": [{"name": "Ada"}, {"name": "Ben"}],
            "looks": [{"who": "Ada", "at": "camera" if at_lens else "Ben"}, {"who": "Ben", "at": "Ada"}],
        },
        name="generated",
    )
    readings = Readings(
        movie=movie_info(frames), clock=FrameClock.steady(Fraction(24), frames), cast=cast,
        acting=(actor("Ada", ada_eyes, ada_aims, pose, focal, frames), actor("Ben", ben_eyes, ben_aims, pose, focal, frames)),
        cameras=tuple(CameraView(lens_matrix(focal), pose.astype(np.float32)) for _ in range(frames)),
    )  # fmt: skip
    return readings, aim


def at_level_2(readings: Readings, seed: int, error_deg: float = 1.5) -> Readings:
    """The same as the picture alone gives it: no world, no camera, each eye off by an error of its own that all frames share."""
    random = np.random.default_rng(1000 + seed)
    focal = float(readings.cameras[0].matrix[0, 0])
    acting = []
    for who in readings.acting:
        gaze = {}
        for side, eye in who.gaze.items():
            seen = eye.direction[0].astype(float)
            seen = rotate(
                rotate(seen, np.array([0.0, 1, 0]), random.normal(0, error_deg)), np.array([1.0, 0, 0]), random.normal(0, error_deg)
            )
            seen = seen + random.normal(0, np.radians(0.3), (len(eye.origin), 3))
            seen /= np.linalg.norm(seen, axis=1, keepdims=True)
            gaze[side] = replace(
                eye,
                direction=seen.astype(np.float32),
                error_deg=np.full(len(seen), error_deg, np.float32),
                world_origin=None,
                world_direction=None,
            )
        pose = readings.cameras[0].world_to_camera
        depth = float((pose[:3, :3] @ who.marks["nose"].world[0] + pose[:3, 3])[2])
        n = len(readings.clock)
        head = Head(np.full((n, 3), np.nan, np.float32), np.full(n, 0.23 * focal / depth, np.float32))
        marks = {name: replace(track, world=None) for name, track in who.marks.items()}
        acting.append(replace(who, level=2, gaze=gaze, head=head, marks=marks))
    return replace(readings, acting=tuple(acting), cameras=())


def off_by(wanted: np.ndarray, pose: np.ndarray, fault: Fault) -> np.ndarray:
    """Turn a world direction as the audience sees it: up about the camera-horizontal normal to it, right about the camera's vertical."""
    right, up = pose[0, :3], -pose[1, :3]
    level = np.cross(wanted, up)
    level /= np.linalg.norm(level)
    lifted = rotate(wanted, level, fault.up)
    sign = 1.0 if np.dot(rotate(lifted, up, 1.0) - lifted, right) > 0 else -1.0
    return rotate(lifted, up, sign * fault.right)
