"""A drawn head: flat shapes painted in face coordinates and moved by a homography, so that it turns, leans and comes nearer as a card does.

Nothing is shared with heads3d: other proportions, other lips, another eye (an ellipse of white, an iris foreshortened by hand), outlines as in drawn work.
Face coordinates: head heights, origin between the eyes, x to the character's left (screen right), y down.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from tests.make.heads3d import Heads
from tests.make.moving import noise_texture

Floats = npt.NDArray[np.float64]
FINE = 3
"""Painted this many times larger and averaged down."""
BITS = 6

EYE_AT = {"left": (0.19, 0.0), "right": (-0.19, 0.0)}
EYE = 0.11
IRIS = np.deg2rad(25)
MOUTH_AT, MOUTH = (0.0, 0.38), 0.28


@dataclass(frozen=True)
class Card:
    """One frame. height : px of the head; at : px of the face's origin; turn : degrees in the picture; lean : keystone, 1/px of the height
    squeeze : width over height, 1 facing; gaze : degrees to screen right and down; lids, opening, width : as in heads3d.Pose
    """

    height: float = 220
    at: tuple[float, float] = (180, 150)
    turn: float = 0
    lean: tuple[float, float] = (0, 0)
    squeeze: float = 1
    gaze: tuple[float, float] = (0, 0)
    lids: float = 1.0
    opening: float = 0.0
    width: float = 1.0

    def homography(self) -> Floats:
        """From face coordinates to px."""
        c, s = np.cos(np.deg2rad(self.turn)), np.sin(np.deg2rad(self.turn))
        flat = self.height * np.array([[c * self.squeeze, -s], [s * self.squeeze, c]])
        out = np.eye(3)
        out[:2, :2], out[:2, 2], out[2, :2] = flat + np.outer(self.at, self.lean), self.at, self.lean
        return out


def to_picture(card: Card, points: Floats) -> Floats:
    flat = np.column_stack([points, np.ones(len(points))]) @ card.homography().T
    return flat[:, :2] / flat[:, 2:]


def card_points(card: Card) -> dict[str, Floats]:
    half, gap = card.width * MOUTH / 2, card.opening * MOUTH
    face = {
        "mouth_left": (half, MOUTH_AT[1]), "mouth_right": (-half, MOUTH_AT[1]), "lip_upper": (0, MOUTH_AT[1] - 0.4 * gap),
        "lip_lower": (0, MOUTH_AT[1] + 0.6 * gap), "nose": (0, 0.2), "brow_left": (0.19, -0.18), "brow_right": (-0.19, -0.18),
    }  # fmt: skip
    x, y = np.deg2rad(card.gaze)
    for side, (u, v) in EYE_AT.items():
        face[f"eye_{side}"] = (u, v)
        face[f"eye_{side}_edge"] = (u, v + EYE)
        face[f"iris_{side}"] = (u + EYE * np.sin(x) * np.cos(y), v + EYE * np.sin(y))
    names = list(face)
    return dict(zip(names, to_picture(card, np.array([face[n] for n in names], float)), strict=True))


def paint(cards: list[Card], size: tuple[int, int] = (360, 360), *, noise: float = 1.5, quality: int | None = 85, seed: int = 2) -> Heads:
    rng = np.random.default_rng(seed)
    grain = noise_texture(600, grain=3, seed=seed, contrast=12) - 128
    back = noise_texture(max(size), grain=5, seed=seed + 5, contrast=15)[: size[1], : size[0]] - 10
    frames = []
    for i, card in enumerate(cards):
        frame = _card(card, size, grain, back) * (1 - 0.15 * np.sin(np.pi * i / max(1, len(cards))))
        frame = np.clip(np.rint(frame + noise * rng.standard_normal(frame.shape)), 0, 255).astype(np.uint8)
        if quality is not None:
            frame = cv2.imdecode(cv2.imencode(".jpg", frame, [cv2.IMWRITE_JPEG_QUALITY, quality])[1], cv2.IMREAD_GRAYSCALE)
        frames.append(frame)
    marks = {n: np.array([card_points(c)[n] for c in cards]) for n in card_points(cards[0])}
    gaze = {side: np.array([_gaze(c, side, size) for c in cards]) for side in EYE_AT}
    opening, width, lids = (np.array([getattr(c, n) for c in cards]) for n in ("opening", "width", "lids"))
    return Heads(frames, marks, gaze, opening, width, lids)


def _gaze(card: Card, side: str, size: tuple[int, int]) -> Floats:
    """Camera frame. A card has no camera of its own: an eye with its iris in the middle is said to look into the lens, here one of 35 degrees."""
    x, y = np.deg2rad(card.gaze)
    flat = np.array([np.sin(x) * np.cos(y), np.sin(y)])
    c, s = np.cos(np.deg2rad(card.turn)), np.sin(np.deg2rad(card.turn))
    seen = np.array([[c, -s], [s, c]]) @ flat
    focal = size[1] / 2 / np.tan(np.deg2rad(35) / 2)
    ray = np.array([*(card_points(card)[f"eye_{side}"] - (np.array(size) - 1) / 2) / focal, 1.0])
    ray /= np.linalg.norm(ray)
    axis = np.cross([0, 0, 1.0], ray)
    turn, _ = cv2.Rodrigues(axis / max(np.linalg.norm(axis), 1e-9) * np.arccos(ray[2]))
    return turn @ np.array([*seen, -np.sqrt(1 - seen @ seen)])


def _card(card: Card, size: tuple[int, int], grain: Floats, back: Floats) -> Floats:
    wide, high = size
    canvas = cv2.resize(back.astype(np.float32), (wide * FINE, high * FINE))
    canvas = np.clip(canvas, 0, 255).astype(np.uint8)
    _fill(canvas, card, _oval(0, 0.12, 0.4, 0.52), 70)
    _fill(canvas, card, _oval(0, 0.12, 0.39, 0.51), 190)
    _fill(canvas, card, _oval(0, -0.33, 0.3, 0.09), 80)
    for x, y, r in (
        (-0.25, 0.2, 0.012),
        (0.27, 0.23, 0.01),
        (0.22, 0.3, 0.012),
        (-0.2, 0.27, 0.01),
        (-0.02, -0.15, 0.012),
        (0.06, -0.2, 0.01),
        (0.3, 0.13, 0.009),
        (-0.3, 0.12, 0.012),
    ):
        _fill(canvas, card, _oval(x, y, r, r), 140)
    _fill(canvas, card, np.array([(-0.04, 0.22), (0.0, 0.08), (0.045, 0.22), (0, 0.245)]), 160)
    for side in (-1, 1):
        _fill(canvas, card, _oval(0.02 * side, 0.225, 0.01, 0.007), 60)
        _fill(canvas, card, np.array([(0.09 * side, -0.17), (0.19 * side, -0.2), (0.3 * side, -0.16), (0.19 * side, -0.17)]), 60)
    for u, v in EYE_AT.values():
        _eye(canvas, card, u, v)
    _mouth(canvas, card)
    frame = cv2.resize(canvas, size, interpolation=cv2.INTER_AREA).astype(np.float64)
    return frame + _grain(card, size, grain)


def _grain(card: Card, size: tuple[int, int], grain: Floats) -> Floats:
    """Skin texture that sticks to the card."""
    to_texture = np.array([[600.0, 0, 300], [0, 600, 230], [0, 0, 1]])
    matrix = card.homography() @ np.linalg.inv(to_texture)
    inside = np.zeros(grain.shape, np.float32)
    cv2.ellipse(inside, (300, 302), (220, 290), 0, 0, 360, 1, -1)
    for x, y in (*EYE_AT.values(), MOUTH_AT):
        cv2.circle(inside, (round(600 * x + 300), round(600 * y + 230)), 80, 0, -1)
    inside = cv2.GaussianBlur(inside, (0, 0), 6)
    return cv2.warpPerspective((grain * inside).astype(np.float32), matrix, size, flags=cv2.INTER_LINEAR).astype(np.float64)


def _oval(x: float, y: float, a: float, b: float, start: float = 0, stop: float = 360) -> Floats:
    t = np.deg2rad(np.linspace(start, stop, 73))
    return np.column_stack([x + a * np.cos(t), y + b * np.sin(t)])


def _fill(canvas: npt.NDArray[np.uint8], card: Card, points: Floats, grey: int) -> None:
    spots = (to_picture(card, points) + 0.5) * FINE - 0.5
    cv2.fillPoly(canvas, [np.rint(spots * 2**BITS).astype(np.int32)], grey, cv2.LINE_AA, BITS)


def _eye(canvas: npt.NDArray[np.uint8], card: Card, u: float, v: float) -> None:
    _fill(canvas, card, _oval(u, v, EYE, EYE), 235)
    x, y = np.deg2rad(card.gaze)
    direction = np.array([np.sin(x) * np.cos(y), np.sin(y), np.cos(x) * np.cos(y)])
    across = np.cross(direction, [0, 1, 0])
    across /= np.linalg.norm(across)
    over = np.cross(direction, across)
    t = np.linspace(0, 2 * np.pi, 73)[:, None]
    for half, grey in ((IRIS, 120), (0.85 * IRIS, 100), (np.deg2rad(11), 20)):
        ring = np.cos(half) * direction + np.sin(half) * (np.cos(t) * across + np.sin(t) * over)
        _fill(canvas, card, np.array([u, v]) + EYE * ring[:, :2], grey)
    _fill(canvas, card, _oval(u + 0.03, v - 0.035, 0.014, 0.014), 255)
    top = v - EYE * 1.02 + 2.04 * EYE * (1 - card.lids) + 0.25 * EYE * card.lids
    _fill(canvas, card, np.vstack([_oval(u, v, 1.06 * EYE, 1.06 * EYE, 180, 360), _sag(u, top)]), 165)
    _fill(canvas, card, np.vstack([_oval(u, v, 1.06 * EYE, 1.06 * EYE, 0, 180), _sag(u, v + 0.8 * EYE)[::-1]]), 180)


def _sag(u: float, y: float) -> Floats:
    x = np.linspace(1.0, -1.0, 21) * EYE
    return np.column_stack([u + x, np.full(21, y)])


def _mouth(canvas: npt.NDArray[np.uint8], card: Card) -> None:
    half, gap = card.width * MOUTH / 2, card.opening * MOUTH
    x = np.linspace(-1, 1, 41)
    bow = 1 - x**2
    y = MOUTH_AT[1]
    edge_up, edge_down = y - 0.4 * gap * bow, y + 0.6 * gap * bow
    peak = 0.05 * bow * (1 - 0.35 * np.exp(-((x / 0.2) ** 2)))
    _fill(
        canvas,
        card,
        np.vstack([np.column_stack([half * x, edge_up - peak]), np.column_stack([half * x, edge_down + 0.055 * bow])[::-1]]),
        110,
    )
    thin = 0.006 * bow if card.opening < 0.03 else 0 * bow
    _fill(canvas, card, np.vstack([np.column_stack([half * x, edge_up - thin]), np.column_stack([half * x, edge_down + thin])[::-1]]), 30)
    if card.opening > 0.2:
        low = np.minimum(edge_up + 0.04, edge_down)
        _fill(canvas, card, np.vstack([np.column_stack([half * x * 0.85, edge_up]), np.column_stack([half * x * 0.85, low])[::-1]]), 215)
        _fill(canvas, card, _oval(0, y + 0.5 * gap, 0.5 * half, 0.12 * gap), 85)
