"""Generated shots and their reverses: two people who look at each other, each alone in a shot of their own, with a cut between. World: metres, y up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, CameraView, Gaze, Head, MarkTrack
from shotcrit.readings.bundle import PictureReadings, Readings, Series
from shotcrit.readings.cast import parse_cast
from tests.make.two_hander import Fault, actor, eyes_of_head, lens_matrix, look_at_matrix, movie_info, off_by, rotate

HALF = 24
"""Frames of each shot."""
ARRAYS = ("origin", "direction", "error_deg", "iris", "world_origin", "world_direction")


@dataclass(frozen=True)
class Stage:
    """Two heads and, for each, the camera that sees it alone: world places, focal length in px."""

    ada: np.ndarray
    ben: np.ndarray
    cameras: tuple[np.ndarray, np.ndarray]
    focal: float


def stage(seed: int, *, crossed: bool = False, level: bool = False) -> Stage:
    """Ada at the left, Ben at the right, both cameras on one side of the line between them, or (`crossed`) on two.

    level : both at one height, with cameras that stand at it, as the mirror's assumption has it; else heights and tilts are drawn
    """
    random = np.random.default_rng(seed)
    high = random.uniform(1.2, 1.7, 2)
    ada, ben = np.array([-0.8, high[0], 0.0]), np.array([0.8, high[0] if level else high[1], 0.0])
    places = []
    for head, other, side in ((ada, ben, 1.0), (ben, ada, -1.0 if crossed else 1.0)):
        angle = np.radians(random.uniform(25, 40))
        along = (other - head) / np.linalg.norm(other - head)
        way = along * np.cos(angle) + np.array([0, 0, side]) * np.sin(angle)
        places.append(head + way * random.uniform(1.3, 1.5) + np.array([0, 0.0 if level else random.uniform(-0.1, 0.1), 0]))
    return Stage(ada, ben, (places[0], places[1]), random.uniform(2600, 3400))


def reverse_shots(where: Stage, fault: Fault, *, said: bool = True, point_of_view: bool = False) -> Readings:
    """Level 3: Ada's shot, then Ben's. Ben's look is off by `fault` as his camera sees it.

    point_of_view : the second camera is where Ada's eyes are, and Ben looks into it
    """
    # A lens at the very place of an eye would see that eye at no distance at all.
    lens = where.ada + 0.05 * (where.ben - where.ada)
    cameras = (where.cameras[0], lens if point_of_view else where.cameras[1])
    poses = [look_at_matrix(c, h) for c, h in zip(cameras, (where.ada, where.ben), strict=True)]
    aims = {"Ada": (where.ada, where.ben, Fault()), "Ben": (where.ben, where.ada, fault)}
    acting = []
    for name, (head, at, off) in aims.items():
        wanted = (at - head) / np.linalg.norm(at - head)
        point = head + off_by(wanted, poses[1], off) * np.linalg.norm(at - head)
        eyes = eyes_of_head(head, wanted)
        look = np.stack([(point - eye) / np.linalg.norm(point - eye) for eye in eyes])
        acting.append(joined([actor(name, eyes, look, pose, where.focal, HALF) for pose in poses]))
    views = [CameraView(lens_matrix(where.focal), pose.astype(np.float32)) for pose in poses]
    looks = [{"who": "Ada", "at": "Ben"}, {"who": "Ben", "at": "Ada"}] if said else []
    still = np.zeros(2 * HALF, np.float32)
    return Readings(
        movie=movie_info(2 * HALF), clock=FrameClock.steady(Fraction(24), 2 * HALF), acting=tuple(acting),
        cast=parse_cast({"characters": [{"name": "Ada"}, {"name": "Ben"}], "looks": looks}, name="generated"),
        cameras=tuple(view for view in views for _ in range(HALF)),
        picture=PictureReadings(still > 0, Series("movement", "px", still), (HALF,), 0.5),
    )  # fmt: skip


def joined(parts: list[Acting]) -> Acting:
    """One character through shots that follow each other."""
    gaze = {}
    for side in parts[0].gaze:
        gaze[side] = Gaze(**{name: np.concatenate([getattr(p.gaze[side], name) for p in parts]) for name in ARRAYS})
    nose = [p.marks["nose"] for p in parts]
    joined = {name: np.concatenate([getattr(track, name) for track in nose]) for name in ("xy", "error_px", "world")}
    return replace(parts[0], gaze=gaze, marks={"nose": MarkTrack(parts[0].who, "nose", **joined)})


def in_the_picture_alone(readings: Readings, seed: int, error_deg: float = 1.5) -> Readings:
    """The same at level 2: each seen in their own shot only, no world, no camera, each eye off by an error that a shot's frames share."""
    random = np.random.default_rng(5000 + seed)
    acting = []
    for who in readings.acting:
        hidden = np.ones(2 * HALF, bool)
        hidden[slice(0, HALF) if who.who == "Ada" else slice(HALF, 2 * HALF)] = False
        gaze = {side: _unsure(eye, hidden, random, error_deg) for side, eye in who.gaze.items()}
        xy = np.where(hidden[:, None], np.nan, who.marks["nose"].xy).astype(np.float32)
        marks = {"nose": MarkTrack(who.who, "nose", xy, who.marks["nose"].error_px)}
        unknown = np.full((2 * HALF, 3), np.nan, np.float32)
        acting.append(Acting(who.who, 2, marks, gaze=gaze, head=Head(unknown, np.where(hidden, np.nan, 480).astype(np.float32))))
    return replace(readings, acting=tuple(acting), cameras=())


def _unsure(eye: Gaze, hidden: np.ndarray, random: np.random.Generator, error_deg: float) -> Gaze:
    turn = random.normal(0, error_deg, 2)
    seen = np.stack(
        [rotate(rotate(d, np.array([0.0, 1, 0]), turn[0]), np.array([1.0, 0, 0]), turn[1]) for d in eye.direction.astype(float)]
    )
    seen += random.normal(0, np.radians(0.2), seen.shape)
    seen /= np.linalg.norm(seen, axis=1, keepdims=True)
    gone = hidden[:, None]
    return Gaze(
        np.where(gone, np.nan, eye.origin).astype(np.float32), np.where(gone, np.nan, seen).astype(np.float32),
        np.where(hidden, np.nan, error_deg).astype(np.float32), np.where(gone, np.nan, eye.iris).astype(np.float32), 40.0,
    )  # fmt: skip
