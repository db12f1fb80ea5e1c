"""Two who look at each other, each alone in a shot of their own, by cameras as unlike as film has them: near to the line and far from it, low and high,
tilted up and down, rolled, with long lenses and short. World: metres, y up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from shotcrit.clock import FrameClock
from shotcrit.readings.acting import CameraView
from shotcrit.readings.bundle import PictureReadings, Readings, Series
from shotcrit.readings.cast import parse_cast
from tests.make.reverse_shots import HALF, in_the_picture_alone, joined
from tests.make.two_hander import Fault, actor, eyes_of_head, lens_matrix, look_at_matrix, movie_info, off_by, rotate


@dataclass(frozen=True)
class Shot:
    """pose : world to camera; focal : px"""

    pose: np.ndarray
    focal: float


def _shot(random: np.random.Generator, head: np.ndarray, other: np.ndarray, side: float) -> Shot:
    """A single of `head`: 12 to 75 degrees off the line, up to 0.7 m above or below the eyes, with lead room, rolled by some degrees."""
    angle = np.radians(random.uniform(12, 75))
    along = (other - head) * [1, 0, 1]
    along /= np.linalg.norm(along)
    way = along * np.cos(angle) + np.array([-along[2], 0, along[0]]) * side * np.sin(angle)
    place = head + way * random.uniform(1.2, 3.0) + np.array([0, random.uniform(-0.7, 0.7), 0])
    aim = head + along * random.uniform(0.0, 0.12) + np.array([0, random.uniform(-0.15, 0.05), 0])
    pose = look_at_matrix(place, aim)
    roll = random.normal(0, 2)
    turn = np.eye(4)
    turn[:3, :3] = np.stack([rotate(axis, np.array([0.0, 0, 1]), roll) for axis in np.eye(3)])
    return Shot(turn @ pose, random.uniform(1800, 5200))


def unlike_singles(seed: int, *, crossed: bool = False, fault: Fault | None = None, said: bool = True) -> Readings:
    """Level 3: Ada's shot, then Ben's. crossed : the two cameras stand on two sides of the line; fault : of Ben's look, as his camera sees it"""
    random = np.random.default_rng(seed)
    ada, ben = (np.array([x, random.uniform(1.0, 1.9), random.uniform(-0.2, 0.2)]) for x in (-0.8, 0.8))
    shots = (_shot(random, ada, ben, 1.0), _shot(random, ben, ada, 1.0 if crossed else -1.0))
    acting = []
    for name, head, at, off in (("Ada", ada, ben, Fault()), ("Ben", ben, ada, fault or Fault())):
        wanted = (at - head) / np.linalg.norm(at - head)
        point = head + off_by(wanted, shots[1].pose, off) * np.linalg.norm(at - head)
        eyes = eyes_of_head(head, wanted)
        look = np.stack([(point - eye) / np.linalg.norm(point - eye) for eye in eyes])
        acting.append(joined([actor(name, eyes, look, shot.pose, shot.focal, HALF) for shot in shots]))
    looks = [{"who": "Ada", "at": "Ben"}, {"who": "Ben", "at": "Ada"}] if said else []
    still = np.zeros(2 * HALF, np.float32)
    return Readings(
        movie=movie_info(2 * HALF), clock=FrameClock.steady(Fraction(24), 2 * HALF), acting=tuple(acting),
        cast=parse_cast({"characters": [{"name": "Ada"}, {"name": "Ben"}], "looks": looks}, name="generated"),
        cameras=tuple(CameraView(lens_matrix(s.focal), s.pose.astype(np.float32)) for s in shots for _ in range(HALF)),
        picture=PictureReadings(still > 0, Series("movement", "px", still), (HALF,), 0.5),
    )  # fmt: skip


def seen_alone(readings: Readings, seed: int) -> Readings:
    """The same as marks give it: no scene, eyes known to 1 to 3 degrees, a lens that the reading takes for a usual one."""
    return replace(in_the_picture_alone(readings, seed, float(np.random.default_rng(7000 + seed).uniform(1.0, 3.0))), cameras=())
