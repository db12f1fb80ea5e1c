"""Coloured heads of unlike designs that turn and speak, for what finds faces: a dense cloud of painted points over a bulged front, splatted near over far.

Nothing is shared with heads or heads3d, and nothing with the demo's renderer. Lengths in head heights (1 = chin to crown); the face looks to -z when
turned by 0, x to screen right (the character's own left), y down, origin between the eyes. All truths are exact projections.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
RGB = npt.NDArray[np.uint8]
Colour = tuple[int, int, int]
FINE = 320
"""px of the painted front for one head height."""
DEEP = 0.42


@dataclass(frozen=True)
class Design:
    """Colours and proportions. wide : of the head; eye : radius of an eye's opening; apart : of the eyes; mouth : width at rest, at : its height under the eyes
    jaw : how much narrower the chin is; nose : how far it stands out; lip : thickness; light : where it comes from; steps : of a drawn shading, 0 smooth
    """

    name: str
    skin: Colour
    lips: Colour
    hair: Colour
    iris: Colour
    wide: float = 0.74
    eye: float = 0.06
    apart: float = 0.3
    mouth: float = 0.24
    at: float = 0.33
    jaw: float = 0.3
    nose: float = 0.09
    lip: float = 0.03
    brow: float = 0.018
    light: tuple[float, float, float] = (-0.4, -0.5, -0.8)
    steps: int = 0
    back: Colour = (96, 104, 112)
    fringe: float = 0.24
    teeth: bool = True
    """Whether an open mouth shows teeth and tongue."""


OPEN_TO_US = (
    Design("plain", (226, 180, 150), (190, 96, 92), (70, 48, 34), (80, 110, 130)),
    Design(
        "dark", (112, 74, 54), (122, 60, 58), (24, 20, 20), (60, 36, 20), wide=0.7, lip=0.042, light=(0.6, -0.3, -0.7), back=(150, 140, 120)
    ),
    Design(
        "doll",
        (246, 214, 200),
        (210, 110, 116),
        (200, 160, 90),
        (70, 130, 90),
        wide=0.86,
        eye=0.1,
        apart=0.36,
        mouth=0.18,
        at=0.3,
        jaw=0.45,
        nose=0.05,
        lip=0.022,
    ),
)
"""Heads to develop with."""
HELD_APART = (
    Design(
        "old",
        (214, 170, 148),
        (170, 110, 104),
        (186, 186, 190),
        (90, 100, 110),
        wide=0.68,
        eye=0.05,
        mouth=0.27,
        at=0.35,
        nose=0.13,
        lip=0.018,
        brow=0.03,
        light=(0.1, -0.9, -0.4),
        back=(60, 66, 80),
    ),
    Design(
        "dusk",
        (150, 120, 150),
        (120, 70, 100),
        (40, 30, 60),
        (110, 120, 160),
        wide=0.78,
        eye=0.075,
        mouth=0.22,
        jaw=0.2,
        light=(-0.9, 0.0, -0.5),
        back=(34, 34, 48),
    ),
    Design(
        "cel",
        (252, 206, 170),
        (214, 120, 110),
        (150, 60, 40),
        (60, 60, 140),
        wide=0.8,
        eye=0.085,
        apart=0.34,
        mouth=0.21,
        nose=0.07,
        steps=3,
        back=(180, 196, 206),
    ),
)
"""Heads that nothing was tuned on."""


@dataclass(frozen=True)
class Now:
    """One head on one frame. size : px from chin to crown; x, y : px of the point between the eyes; turn : yaw (to screen right), pitch, roll, degrees
    opening : gap of the lips, width : corner to corner, both over the mouth's width at rest
    """

    size: float = 200
    x: float = 160
    y: float = 110
    turn: tuple[float, float, float] = (0, 0, 0)
    opening: float = 0.0
    width: float = 1.0
    hidden: bool = False
    """A hand before the mouth."""


@dataclass(frozen=True)
class Shown:
    """A picture as a reader of pictures is given it."""

    index: int
    frame: RGB
    damaged: bool = False

    @property
    def width(self) -> int:
        return int(self.frame.shape[1])

    @property
    def height(self) -> int:
        return int(self.frame.shape[0])

    def rgb(self, width: int | None = None) -> RGB:
        if width in (None, self.width):
            return self.frame
        return np.asarray(cv2.resize(self.frame, (width, round(self.height * width / self.width)), interpolation=cv2.INTER_AREA))


def film(design: Design, poses: Sequence[Now], size: tuple[int, int] = (320, 240), *, noise: float = 1.5, seed: int = 1) -> list[RGB]:
    """Pictures of one head."""
    return [picture([(design, now)], size, noise=noise, seed=seed + i) for i, now in enumerate(poses)]


def picture(heads: Sequence[tuple[Design, Now]], size: tuple[int, int], *, noise: float = 1.5, seed: int = 1) -> RGB:
    """Heads before the first one's background, uint8 [shape=(high, wide, 3)]."""
    wide, high = size
    rng = np.random.default_rng(seed)
    shade = np.linspace(1.1, 0.85, high)[:, None, None]
    canvas = np.broadcast_to(np.array(heads[0][0].back, float) * shade, (high, wide, 3)).copy()
    cv2.rectangle(canvas, (wide // 8, 0), (wide // 3, high), tuple(0.8 * c for c in heads[0][0].back), -1)
    for design, now in heads:
        _splat(canvas, design, now)
    return np.clip(canvas + noise * rng.standard_normal(canvas.shape), 0, 255).astype(np.uint8)


def points(design: Design, now: Now) -> dict[str, Floats]:
    """Where marks are, px."""
    half, gap = now.width * design.mouth / 2, now.opening * design.mouth
    drop = _drop(design, now)
    flat = {
        "mouth_left": (half, design.at + 0.4 * drop), "mouth_right": (-half, design.at + 0.4 * drop), "lip_upper": (0.0, design.at - 0.15 * gap),
        "lip_lower": (0.0, design.at + 0.85 * gap), "chin": (0.0, 0.53 + drop), "eye_left": (design.apart / 2, 0.0), "eye_right": (-design.apart / 2, 0.0),
    }  # fmt: skip
    spots = np.array(list(flat.values()))
    placed = _project(np.column_stack([spots, _depth(design, spots[:, 0], spots[:, 1] - drop * _below(design, spots[:, 1]))]), now)
    return dict(zip(flat, placed[:, :2], strict=True))


def _drop(design: Design, now: Now) -> float:
    return 0.85 * now.opening * design.mouth * 0.8


def _below(design: Design, y: Floats) -> Floats:
    return np.clip((np.asarray(y) - design.at) / 0.08, 0, 1)


def _rotation(turn: tuple[float, float, float]) -> Floats:
    yaw, pitch, roll = np.deg2rad(turn)
    about_y = np.array([[np.cos(yaw), 0, -np.sin(yaw)], [0, 1, 0], [np.sin(yaw), 0, np.cos(yaw)]])
    about_x = np.array([[1, 0, 0], [0, np.cos(pitch), -np.sin(pitch)], [0, np.sin(pitch), np.cos(pitch)]])
    about_z = np.array([[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    return about_z @ about_x @ about_y


def _project(spots: Floats, now: Now) -> Floats:
    """px and depth of head coordinates, [shape=(n, 3)]; a lens of 7 head heights' distance."""
    middle = np.array([0, 0.05, 0.0])
    seen = (spots - middle) @ _rotation(now.turn).T + middle
    near = 7 / (7 + seen[:, 2])
    return np.column_stack([now.x + now.size * near * seen[:, 0], now.y + now.size * near * seen[:, 1], seen[:, 2]])


def _outline(design: Design, y: Floats) -> Floats:
    """Half the head's width at a height."""
    t = np.clip((y - 0.05) / 0.53, -1, 1)
    half = design.wide / 2 * np.sqrt(np.maximum(1 - t**2, 0))
    return np.asarray(half * np.where(t > 0, 1 - design.jaw * t**2, 1), np.float64)


def _depth(design: Design, x: Floats, y: Floats) -> Floats:
    """Of the front: an ellipsoid with sockets, nose, lips and a chin."""
    half = np.maximum(_outline(design, y), 1e-4)
    z = -DEEP * np.sqrt(np.clip(1 - (x / half) ** 2, 0, 1)) * np.sqrt(np.clip(1 - ((y - 0.05) / 0.545) ** 2, 0, 1)) ** 0.6
    for side in (-1, 1):
        z = z + 0.035 * np.exp(-(((x - side * design.apart / 2) / 0.07) ** 2) - (y / 0.06) ** 2)
    down = np.clip((y + 0.02) / 0.2, 0, 1) * (y < 0.19)
    z = z - design.nose * down * np.exp(-((x / 0.05) ** 2)) - 0.4 * design.nose * np.exp(-((x / 0.07) ** 2) - ((y - 0.185) / 0.03) ** 2)
    z = z - 0.02 * np.exp(-((x / 0.1) ** 2) - ((y - design.at) / 0.05) ** 2) - 0.03 * np.exp(-((x / 0.09) ** 2) - ((y - 0.5) / 0.06) ** 2)
    return np.asarray(z, np.float64)


def _paint(design: Design, now: Now) -> RGB:
    """The front as seen straight on, FINE px a head height, origin at its middle."""
    canvas = np.full((int(1.4 * FINE), int(1.2 * FINE), 3), design.skin, np.uint8)
    blush = np.zeros(canvas.shape[:2], np.float32)
    for side in (-1, 1):
        cv2.circle(blush, _px(side * 0.2, 0.2), FINE // 14, 0.25, -1)
    blush = cv2.GaussianBlur(blush, (0, 0), FINE / 25)[..., None]
    canvas = (canvas * (1 - blush) + np.array(design.lips, np.float32) * blush).astype(np.uint8)
    darker = tuple(int(0.7 * c) for c in design.skin)
    for side in (-1, 1):
        _eye(canvas, design, side)
        brow, size = _px(side * design.apart / 2, -1.2 * design.eye), _size(1.35 * design.eye, 0.5 * design.eye)
        cv2.ellipse(canvas, brow, size, 0, 200, 340, design.hair, int(design.brow * FINE), cv2.LINE_AA)
        cv2.circle(canvas, _px(side * 0.028, 0.2), int(0.012 * FINE), tuple(int(0.5 * c) for c in design.skin), -1, cv2.LINE_AA)
    cv2.ellipse(canvas, _px(0, 0.195), _size(0.055, 0.03), 0, 20, 160, darker, int(0.008 * FINE), cv2.LINE_AA)
    _mouth(canvas, design, now)
    cv2.rectangle(canvas, (0, 0), (canvas.shape[1], _px(0, -design.fringe)[1]), design.hair, -1)
    return cv2.GaussianBlur(canvas, (0, 0), 0.8)


def _px(x: float, y: float) -> tuple[int, int]:
    return round((x + 0.6) * FINE), round((y + 0.6) * FINE)


def _size(a: float, b: float) -> tuple[int, int]:
    return max(1, int(a * FINE)), max(1, int(b * FINE))


def _eye(canvas: RGB, design: Design, side: int) -> None:
    x, eye = side * design.apart / 2, design.eye
    cv2.ellipse(canvas, _px(x, 0), _size(1.25 * eye, 0.72 * eye), 0, 0, 360, tuple(int(0.55 * c) for c in design.skin), -1, cv2.LINE_AA)
    cv2.ellipse(canvas, _px(x, 0.04 * eye), _size(1.18 * eye, 0.62 * eye), 0, 0, 360, (238, 236, 232), -1, cv2.LINE_AA)
    cv2.circle(canvas, _px(x, 0), int(0.52 * eye * FINE), design.iris, -1, cv2.LINE_AA)
    cv2.circle(canvas, _px(x, 0), int(0.24 * eye * FINE), (16, 14, 14), -1, cv2.LINE_AA)
    cv2.circle(canvas, _px(x + 0.2 * eye, -0.2 * eye), max(1, int(0.09 * eye * FINE)), (250, 250, 250), -1, cv2.LINE_AA)
    cv2.ellipse(canvas, _px(x, 0), _size(1.25 * eye, 0.72 * eye), 0, 185, 355, (40, 30, 28), int(0.012 * FINE), cv2.LINE_AA)


def _mouth(canvas: RGB, design: Design, now: Now) -> None:
    """Painted where the jaw has not dropped: the drop moves the points under it, and with them what is painted there."""
    half, gap = now.width * design.mouth / 2, now.opening * design.mouth
    u = np.linspace(-1, 1, 61)
    bow = 1 - u**2
    corner = 0.4 * _drop(design, now) * (1 - bow)
    upper, lower = design.at - 0.15 * gap * bow + corner, design.at + 0.85 * gap * bow + corner
    peak = design.lip * bow * (1 - 0.3 * np.exp(-((u / 0.18) ** 2)))
    _fill(canvas, half * u, upper - peak, lower + 1.2 * design.lip * bow, design.lips)
    thin = 0.0035 * bow
    _fill(canvas, half * 0.97 * u, upper - thin, lower + thin, (52, 22, 24))
    if now.opening > 0.15 and design.teeth:
        _fill(canvas, half * 0.8 * u, upper, np.minimum(upper + 0.03 * bow, lower), (232, 228, 220))
        _fill(canvas, half * 0.6 * u, np.maximum(lower - 0.25 * gap * bow, upper), lower, (170, 84, 86))


def _fill(canvas: RGB, x: Floats, top: Floats, bottom: Floats, colour: Colour) -> None:
    outline = np.vstack([np.column_stack([x, top]), np.column_stack([x, bottom])[::-1]])
    cv2.fillPoly(canvas, [np.rint((outline + 0.6) * FINE * 16).astype(np.int32)], colour, cv2.LINE_AA, 4)


def _splat(canvas: Floats, design: Design, now: Now) -> None:
    fine = max(1.3 * now.size, 60)
    y, turn = np.mgrid[-0.48 : 0.58 : 1 / fine, -1.56 : 1.56 : 2.4 / fine]
    x, y = (_outline(design, y) * np.sin(turn)).ravel(), y.ravel()
    drop = _drop(design, now)
    painted = _paint(design, now)
    front = np.column_stack([x, y, _depth(design, x, y)])
    fallen = np.column_stack([x, y + drop * np.clip((y - design.at) / 0.25, 0, 1), front[:, 2]])
    at = np.clip(np.rint((fallen[:, :2] + 0.6) * FINE).astype(int), 0, [painted.shape[1] - 1, painted.shape[0] - 1])
    colour = painted[at[:, 1], at[:, 0]].astype(float)
    step = 1e-3
    slope = [(_depth(design, x + dx, y + dy) - front[:, 2]) / step for dx, dy in ((step, 0), (0, step))]
    normal = np.column_stack([slope[0], slope[1], -np.ones(len(x))])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    back = np.column_stack([x, y, 0.9 * DEEP * np.sqrt(np.clip(1 - (x / np.maximum(_outline(design, y), 1e-4)) ** 2, 0, 1))])
    neck = _neck(design, now)
    spots = np.vstack([back, neck, fallen])
    light = np.vstack(
        [_lit(design, now, back / np.linalg.norm(back, axis=1, keepdims=True)), np.full((len(neck), 1), 0.6), _lit(design, now, normal)]
    )
    colours = np.vstack([np.tile(design.hair, (len(back), 1)), np.tile(design.skin, (len(neck), 1)), colour]) * light
    _draw(canvas, _project(spots, now), colours)
    if now.hidden:
        mouth = points(design, now)["lip_lower"]
        at, half = (int(mouth[0]), int(mouth[1] + 0.06 * now.size)), (int(0.26 * now.size), int(0.16 * now.size))
        cv2.ellipse(canvas, at, half, 20, 0, 360, tuple(0.8 * c for c in design.skin), -1, cv2.LINE_AA)


def _neck(design: Design, now: Now) -> Floats:
    y, turn = np.mgrid[0.3 : 1.2 : 0.7 / now.size, 0 : 2 * np.pi : 2 / now.size]
    return np.column_stack([0.5 * design.wide / 2 * np.sin(turn).ravel(), y.ravel(), 0.12 - 0.18 * np.cos(turn).ravel()])


def _lit(design: Design, now: Now, normal: Floats) -> Floats:
    lamp = np.array(design.light) / np.linalg.norm(design.light)
    shade = np.clip((normal @ _rotation(now.turn).T) @ lamp, 0, 1)
    if design.steps:
        shade = np.round(shade * design.steps) / design.steps
    return np.asarray((0.45 + 0.6 * shade)[:, None])


def _draw(canvas: Floats, spots: Floats, colours: Floats) -> None:
    """Near over far, softened by being drawn twice as large. Only the part of the canvas that they reach is drawn anew."""
    low = np.clip(np.floor(spots[:, :2].min(axis=0)).astype(int) - 2, 0, None)
    top = np.clip(np.ceil(spots[:, :2].max(axis=0)).astype(int) + 3, 0, canvas.shape[1::-1])
    canvas, spots = canvas[low[1] : top[1], low[0] : top[0]], spots - (*low, 0)
    high, wide = canvas.shape[:2]
    large = cv2.resize(canvas, (2 * wide, 2 * high), interpolation=cv2.INTER_NEAREST)
    order = np.argsort(-spots[:, 2])
    at = np.repeat(np.rint(2 * spots[order, :2]).astype(int), 4, axis=0) + np.tile([(0, 0), (1, 0), (0, 1), (1, 1)], (len(order), 1))
    colour = np.repeat(colours[order], 4, axis=0)
    seen = ((at >= 0) & (at < (2 * wide, 2 * high))).all(axis=1)
    large[at[seen, 1], at[seen, 0]] = colour[seen]
    canvas[:] = cv2.resize(large, (wide, high), interpolation=cv2.INTER_AREA)
