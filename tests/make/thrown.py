"""Things that are thrown, fall and are let down, beside somebody who stands: with a gravity that is known, with or without air, and as a person lowers them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.integrate import solve_ivp

from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import parse_cast
from tests.make.captured import readings_of
from tests.make.motions import STANDS

RATE, FRAMES = 24, 60
TALL_M = 1.7
"""Ada, from the ground to the top of her head."""


def thrown(gravity: float, *, up: float = 2.5, along: float = 0.8, drag: float = 0.0, first: int = 15, floor: float = 0.1) -> np.ndarray:
    """Places [shape=(FRAMES, 3)] of a thing that rests, is thrown up by so many m/s, and stops dead on the floor. drag : 1/m, of the speed squared.

    Solved by scipy's integrator of ordinary differential equations, to a millionth.
    """

    def pull(_: float, state: np.ndarray) -> np.ndarray:
        speed = state[3:]
        return np.concatenate([speed, [0, -gravity, 0] - drag * np.linalg.norm(speed) * speed])

    t = np.arange(FRAMES - first) / RATE
    answer = solve_ivp(pull, (0, t[-1]), [0.5, 1.0, 0.0, along, up, 0.0], t_eval=t, rtol=1e-6, atol=1e-8)
    flown = answer.y[:3].T
    landed = np.flatnonzero(flown[:, 1] < floor)
    if len(landed):
        flown[landed[0] :] = flown[landed[0]] * (1, 0, 1) + (0, floor, 0)
    return np.vstack([np.tile([0.5, 1.0, 0.0], (first, 1)), flown])


def lowered(seconds: float = 1.0, height: float = 0.7) -> np.ndarray:
    """The same thing, put down by hand: minimum jerk (Flash & Hogan 1985)."""
    x = np.clip((np.arange(FRAMES) - 12) / (seconds * RATE), 0, 1)
    share = 10 * x**3 - 15 * x**4 + 6 * x**5
    return np.array([0.5, 1.0, 0.0]) - np.outer(share, [0.1, height, 0])


def beside_ada(way: np.ndarray, *, level: int, noise_px: float = 0.3, seed: int = 0, tall: float = TALL_M) -> Readings:
    """Ada stands, TALL_M from the ground to the top of her head by her marks; the ball goes its way."""
    size = tall / STANDS["head_top"][1]
    world = {mark: np.tile(np.array(at) * size, (len(way), 1)) for mark, at in STANDS.items()}
    whole = readings_of({**world, "ball": way}, level=level, noise_px=noise_px, seed=seed)
    (ada,) = whole.acting
    ball = Acting("ball", ada.level, {"middle": replace(ada.marks["ball"], who="ball", mark="middle")})
    marks = {name: track for name, track in ada.marks.items() if name != "ball"}
    cast = parse_cast({"characters": [{"name": "Ada"}], "props": [{"name": "ball", "marks": {"middle": []}}]}, name="c")
    return replace(whole, acting=(replace(ada, marks=marks), ball), cast=cast)


def jumping(gravity: float, *, level: int = 3) -> Readings:
    """Ada bends her knees and jumps from both feet at 2 m/s: the less gravity, the longer she is in the air."""
    up = 2.0
    t = (np.arange(FRAMES) - 18) / RATE
    high = np.clip(up * t - gravity * t**2 / 2, 0, None)
    bend = -0.25 * np.exp(-(((np.arange(FRAMES) - 12) / 4) ** 2)) * (high == 0)
    world = {mark: np.tile(np.array(at), (FRAMES, 1)) for mark, at in STANDS.items()}
    for mark, at in world.items():
        at[:, 1] += high + (0 if mark.startswith("foot") else bend)
    return readings_of(world, level=level)
