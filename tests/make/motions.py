"""Bodies that act, made up: sways, leans, turns of the head, gestures; and faults planted in them. Two makers that share no code move the hands.

`reach` goes by minimum jerk from one place to the next (Flash & Hogan 1985), `swing` by springs that are pulled to and fro. World, metres, y up.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from shotcrit.readings.bundle import Readings
from tests.make.captured import readings_of

Places = dict[str, np.ndarray]
RATE, FRAMES = 24, 96
STANDS = {
    "hips": (0.0, 0.95, 0.0), "chest": (0.0, 1.3, 0.0), "head_top": (0.0, 1.72, 0.0), "nose": (0.0, 1.6, 0.1), "shoulder_left": (0.19, 1.4, 0.0),
    "shoulder_right": (-0.19, 1.4, 0.0), "hand_left": (0.28, 0.85, 0.1), "hand_right": (-0.28, 0.85, 0.1), "knee_left": (0.1, 0.5, 0.05),
    "knee_right": (-0.1, 0.5, 0.05), "foot_left": (0.1, 0.08, 0.0), "foot_right": (-0.1, 0.08, 0.0),
}  # fmt: skip
TRUNK = {
    "hips": 0.6,
    "chest": 1.0,
    "head_top": 1.4,
    "nose": 1.35,
    "shoulder_left": 1.05,
    "shoulder_right": 1.05,
    "knee_left": 0.3,
    "knee_right": 0.3,
}
"""How much of a sway each part has."""
HEAD = ("head_top", "nose")


def body(seed: int, frames: int = FRAMES) -> Places:
    """A clean performance: trunk that sways and leans, a head that turns, hands that gesture."""
    random = np.random.default_rng(seed)
    t = np.arange(frames) / RATE
    sway = np.stack([_sines(random, t, size) for size in (0.04, 0.008, 0.03)], axis=1)
    nod = np.stack([_sines(random, t, size, fastest=1.0) for size in (0.03, 0.01, 0.03)], axis=1)
    world = {mark: np.tile(at, (frames, 1)) + TRUNK.get(mark, 0.0) * sway + (nod if mark in HEAD else 0) for mark, at in STANDS.items()}
    for side in ("left", "right"):
        hand = reach(random, t) if random.random() < 0.5 else swing(random, t)
        world[f"hand_{side}"] = world[f"hand_{side}"] + sway + hand
    return world


def _sines(random: np.random.Generator, t: np.ndarray, size: float, fastest: float = 0.8) -> np.ndarray:
    return size * sum(np.sin(2 * np.pi * random.uniform(0.15, fastest) * t + random.uniform(0, 6)) / k for k in (1, 2, 3))


def reach(random: np.random.Generator, t: np.ndarray) -> np.ndarray:
    """From place to place by minimum jerk in a third of a second to one, with rests between; some places are passed in an arc."""
    at, now, clock = np.zeros((len(t), 3)), np.zeros(3), random.uniform(0, 0.6)
    while clock < t[-1]:
        there = random.uniform((-0.35, -0.05, -0.1), (0.35, 0.6, 0.3))
        lasts = random.uniform(0.35, 1.0)
        x = np.clip((t - clock) / lasts, 0, 1)
        share = 10 * x**3 - 15 * x**4 + 6 * x**5
        bulge = np.outer(np.sin(np.pi * share), random.normal(0, 0.06, 3))
        going = t >= clock
        at[going] = (now + np.outer(share, there - now) + bulge)[going]
        now, clock = there, clock + lasts + random.choice((0.0, 0.15, 0.5))
    return at


def swing(random: np.random.Generator, t: np.ndarray) -> np.ndarray:
    """A weight on a spring of 1 to 2 Hz, nearly critically damped, whose other end is set elsewhere now and then; solved in steps of a 2000th of a second."""
    fine = 2000 // RATE
    goal, speed, place = np.zeros(3), np.zeros(3), np.zeros(3)
    at, pull, rub = [], (2 * np.pi * random.uniform(1.0, 2.0)) ** 2, random.uniform(0.7, 1.0)
    for _ in t:
        if random.random() < 1.5 / RATE:
            goal = random.uniform((-0.35, -0.05, -0.1), (0.35, 0.6, 0.3))
        at.append(place.copy())
        for _ in range(fine):
            speed = speed + (pull * (goal - place) - 2 * rub * np.sqrt(pull) * speed) / (RATE * fine)
            place = place + speed / (RATE * fine)
    return np.array(at)


@dataclass(frozen=True)
class Planted:
    """What was planted: kind, mark, frames first to last, size in metres."""

    kind: str
    mark: str
    first: int
    last: int
    size: float


@dataclass(frozen=True)
class Motion:
    """A performance with what was planted in it."""

    world: Mapping[str, np.ndarray]
    planted: tuple[Planted, ...] = field(default=())

    def readings(self, level: int, seed: int = 0, noise_px: float = 0.25) -> Readings:
        return readings_of(dict(self.world), level=level, seed=seed, noise_px=noise_px)


def with_pop(seed: int) -> Motion:
    """One mark lies 2 to 6 cm off on one frame."""
    random = np.random.default_rng(1000 + seed)
    world = body(seed)
    mark, frame, size = str(random.choice(list(STANDS))), int(random.integers(6, FRAMES - 6)), float(random.uniform(0.02, 0.06))
    world[mark] = world[mark].copy()
    world[mark][frame] += size * _any_way(random)
    return Motion(world, (Planted("pop", mark, frame, frame, size),))


def with_hitch(seed: int) -> Motion:
    """A hand stops for one or two frames in the middle of a fast move, and goes on from there as if nothing had been."""
    random = np.random.default_rng(2000 + seed)
    long = body(seed, FRAMES + 2)
    mark, lasts = str(random.choice(["hand_left", "hand_right"])), int(random.integers(1, 3))
    speed = np.linalg.norm(np.diff(long[mark][:, :2], axis=0), axis=1)  # as it is seen: nobody sees a stop on the way to the lens
    fast = [i for i in range(8, FRAMES - 8) if speed[i - 3 : i + 4].min() > 0.6 * speed[i] and speed[i] > 0.02]
    if not fast:
        return with_hitch(seed + 500)
    at = int(random.choice(fast))
    world = {name: places[:FRAMES] for name, places in long.items()}
    order = np.r_[np.arange(at + 1), np.full(lasts, at), np.arange(at + 1, FRAMES + 2)][:FRAMES]
    world[mark] = long[mark][order]
    return Motion(world, (Planted("hitch", mark, at + 1, at + lasts, float(speed[at])),))


def with_bob(seed: int) -> Motion:
    """A knee, or the head as a whole, bobs by 3 to 6 cm, two and a half to four times a second, for more than a second; nothing else feels it."""
    random = np.random.default_rng(3000 + seed)
    world = body(seed, 120)
    mark = str(random.choice(["knee_left", "knee_right", "head_top"]))
    size, rate, lasts = float(random.uniform(0.03, 0.06)), float(random.uniform(2.5, 4.0)), int(random.integers(30, 60))
    first = int(random.integers(8, 120 - lasts - 4))
    t = np.arange(120)
    gate = np.clip((t - first) / 4, 0, 1) * np.clip((first + lasts - t) / 4, 0, 1)
    bob = size * gate * (0.5 - 0.5 * np.cos(2 * np.pi * rate * (t - first) / RATE))
    for name in HEAD if mark in HEAD else (mark,):
        world[name] = world[name] + np.outer(bob, [0, 1.0, 0])
    return Motion(world, (Planted("alone", mark, first, first + lasts, size),))


def _any_way(random: np.random.Generator) -> np.ndarray:
    way = random.normal(size=3)
    way[2] = 0.2 * way[2]
    return way / np.linalg.norm(way)
