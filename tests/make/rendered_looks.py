"""Generated two-handers as pictures: Ada's head ray cast in three dimensions over the shoulder of a Ben who is nearer to the lens, seen from behind.

Ada's gaze is read from the pixels by the real reading; Ben is two marks on the back of his head. Lengths in head heights, camera frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import Acting, Head, MarkTrack
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.picture.acting import acting_from_marks
from tests.make.heads3d import EYE_AT, Heads, Pose, render
from tests.make.played import Played, placed_cast
from tests.make.two_hander import movie_info

SIZE = (520, 330)
AHEAD, LOOKING = 1, 4
"""Frames of a straight look, which teaches the eyes, and of the look that is judged."""
MARK_PX = 2.0
"""How well Ben's marks are placed, px."""


@dataclass(frozen=True)
class Planted:
    """What is wrong with Ada's look. up : degrees; wrong_side : she looks as far to the other side of the lens; beside : degrees beside the lens"""

    up: float = 0.0
    wrong_side: bool = False
    beside: float = 0.0


def rendered_look(seed: int, planted: Planted, *, at_lens: bool) -> Readings:
    """Level 2 with eyes of 50 to 58 px; the lens, of 20 to 34 degrees, is not told to the reading. The two are two to three heads apart."""
    random = np.random.default_rng(seed)
    fov = random.uniform(20, 34)
    focal = SIZE[1] / 2 / np.tan(np.radians(fov) / 2)
    ada = np.array([random.uniform(-0.15, 0.0), random.uniform(-0.05, 0.05), focal / random.uniform(250, 290)])
    ben = np.array([random.uniform(0.34, 0.42), random.uniform(-0.12, 0.12), ada[2] * random.uniform(0.42, 0.5)])
    eyes = ada + np.mean(list(EYE_AT.values()), axis=0)
    wanted = -eyes if at_lens else ben - eyes
    right = np.degrees(np.arctan2(wanted[0], -wanted[2]))
    down = np.degrees(np.arctan2(wanted[1], np.hypot(wanted[0], wanted[2])))
    look = ((-right if planted.wrong_side else right) + planted.beside, down - planted.up)
    poses = [Pose(at=tuple(ada), gaze=(0, 0) if i < AHEAD else look) for i in range(AHEAD + LOOKING)]
    film = render(poses, SIZE, fov=fov, seed=seed)
    return _readings(film, ben, focal, random, at_lens)


def _readings(film: Heads, ben: np.ndarray, focal: float, random: np.random.Generator, at_lens: bool) -> Readings:
    frames = AHEAD + LOOKING
    (ada,) = acting_from_marks(Played(film.frames), placed_cast(film, 0, ()), ())
    middle = (np.array(SIZE) - 1) / 2
    spots = {"head_top": ben + np.array([0, -0.5, 0]), "chin": ben + np.array([0, 0.5, 0])}
    seen = {n: focal * p[:2] / p[2] + middle + random.normal(0, MARK_PX, 2) for n, p in spots.items()}
    marks = {
        n: MarkTrack("Ben", n, np.repeat(((p + 0.5) / SIZE)[None], frames, 0).astype(np.float32), np.full(frames, MARK_PX, np.float32))
        for n, p in seen.items()
    }
    tall = np.full(frames, seen["chin"][1] - seen["head_top"][1], np.float32)
    back = Acting("Ben", 2, marks, head=Head(np.full((frames, 3), np.nan, np.float32), tall))
    looks = [{"who": "Ada", "at": "camera" if at_lens else "Ben", "first": AHEAD + 1, "last": frames}]
    cast = parse_cast({"characters": [{"name": "Ada"}, {"name": "Ben"}], "looks": looks}, name="generated")
    info = movie_info(frames)
    info = type(info)(**{**vars(info), "width": SIZE[0], "height": SIZE[1]})
    return Readings(movie=info, clock=FrameClock.steady(Fraction(24), frames), cast=cast, acting=(ada, back))
