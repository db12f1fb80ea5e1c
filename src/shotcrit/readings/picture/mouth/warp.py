"""Mouths between the marked ones: a marked picture of a mouth, bent to another opening and width."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Patch = npt.NDArray[np.float32]

FADE = 0.3
"""Mouth widths over which the pull of lips and corners on the skin around them fades (guess)."""
SHUT_GAP = 0.06
"""Of the width: a mouth less open than this has no inside to bend."""


@dataclass(frozen=True)
class MarkedMouth:
    """A steadied patch with its lip marks, patch px [shape=(2,)]: corners, and the middles of the lips' inner edges."""

    patch: Patch
    left: Floats
    right: Floats
    upper: Floats
    lower: Floats

    @property
    def gap(self) -> float:
        """Distance of the lips, px."""
        return float(np.linalg.norm(self.lower - self.upper))

    @property
    def width(self) -> float:
        """Corner to corner, px."""
        return float(np.linalg.norm(self.left - self.right))

    @property
    def open(self) -> bool:
        return self.gap > SHUT_GAP * self.width

    def frame(self) -> tuple[Floats, Floats]:
        """(middle, axes): between the corners; rows of axes [shape=(2, 2)] run along the mouth and across it, downwards."""
        along = self.left - self.right
        along = along / max(float(np.linalg.norm(along)), 1e-6) * np.sign(along[0] or 1)
        return (self.left + self.right) / 2, np.array([along, [-along[1], along[0]]])

    def lips(self) -> tuple[float, float]:
        """How far below the line of the corners the upper and the lower lip's edge lie, px."""
        middle, axes = self.frame()
        return float(axes[1] @ (self.upper - middle)), float(axes[1] @ (self.lower - middle))


def bent(mouth: MarkedMouth, gap: float, width: float, seam: float) -> Patch:
    """The mouth with another gap and width, px.

    seam : how far below the line of the corners the lips meet when shut, px. Lips move along straight lines between there and where they are marked;
    the skin around gives way, less and less with distance.
    """
    middle, axes = mouth.frame()
    high, wide = mouth.patch.shape
    grid = np.stack(np.meshgrid(np.arange(wide), np.arange(high)), axis=-1) - middle
    u, v = grid @ axes[0], grid @ axes[1]
    fade = FADE * mouth.width
    bow = np.clip(1 - (2 * u / width) ** 2, 0, 1)
    upper, lower = mouth.lips()
    part = gap / mouth.gap if mouth.open else 1.0
    new_up, new_down = (seam + (lip - seam) * part for lip in (upper, lower))
    v_from = _give(v, (new_up * bow, new_down * bow), (upper * bow, lower * bow), fade)
    u_from = _aside(u, width, mouth.width, fade)
    where = (u_from[..., None] * axes[0] + v_from[..., None] * axes[1] + middle).astype(np.float32)
    return np.asarray(
        cv2.remap(mouth.patch, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.float32
    )


@dataclass(frozen=True)
class Inside:
    """What a shut mouth shows when it begins to open: grey of its dark, and how the gap is shared: upper (negative) and lower lip's part of it."""

    grey: float
    upper: float
    lower: float


def inside_of(mouths: list[MarkedMouth], seam: float) -> Inside | None:
    """Learnt from the most open of the marked mouths; None where none is open."""
    mouth = max(mouths, key=lambda m: m.gap)
    if not mouth.open:
        return None
    middle, axes = mouth.frame()
    upper, lower = mouth.lips()
    line = middle + np.linspace(upper, lower, 16)[:, None] * axes[1]
    across = np.linspace(-0.15, 0.15, 7)[:, None, None] * mouth.width * axes[0]
    spots = (line + across).reshape(1, -1, 2).astype(np.float32)
    greys = cv2.remap(mouth.patch, spots[..., 0], spots[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return Inside(float(np.quantile(greys, 0.15)), (upper - seam) / mouth.gap, (lower - seam) / mouth.gap)


def opened(mouth: MarkedMouth, gap: float, width: float, seam: float, inside: Inside) -> Patch:
    """A shut mouth with another width, its lips parted by `gap` px over plain dark: what a small opening looks like before teeth show."""
    middle, axes = mouth.frame()
    high, wide = mouth.patch.shape
    grid = np.stack(np.meshgrid(np.arange(wide), np.arange(high)), axis=-1) - middle
    u, v = grid @ axes[0], grid @ axes[1]
    fade = FADE * mouth.width
    bow = np.clip(1 - (2 * u / width) ** 2, 0, 1)
    edge_up, edge_down = (seam + part * gap * bow for part in (inside.upper, inside.lower))
    above = v + (seam - edge_up) * np.exp(-np.maximum(edge_up - v, 0) / fade)
    below = v + (seam - edge_down) * np.exp(-np.maximum(v - edge_down, 0) / fade)
    v_from = np.where(v < (edge_up + edge_down) / 2, np.minimum(above, seam), np.maximum(below, seam))
    u_from = _aside(u, width, mouth.width, fade)
    where = (u_from[..., None] * axes[0] + v_from[..., None] * axes[1] + middle).astype(np.float32)
    patch = cv2.remap(mouth.patch, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    dark = np.clip(np.minimum(v - edge_up, edge_down - v) + 0.5, 0, 1) * (np.abs(u) < width / 2) * (edge_down - edge_up > 0.3)
    return np.asarray(patch * (1 - dark) + inside.grey * dark, dtype=np.float32)


def _aside(u: Floats, width: float, before: float, fade: float) -> Floats:
    """Where what is at u along the mouth was before its width changed."""
    over = np.maximum(np.abs(u) - width / 2, 0)
    return np.where(over > 0, u - np.sign(u) * (width - before) / 2 * np.exp(-over / fade), u * before / width)


def _give(v: Floats, new: tuple[Floats, Floats], old: tuple[Floats, Floats], fade: float) -> Floats:
    """Where what is at height v after the lips moved from `old` to `new` was before."""
    above = v + (old[0] - new[0]) * np.exp(-np.maximum(new[0] - v, 0) / fade)
    below = v + (old[1] - new[1]) * np.exp(-np.maximum(v - new[1], 0) / fade)
    apart = np.maximum(new[1] - new[0], 1e-6)
    inside = old[0] + (v - new[0]) / apart * (old[1] - old[0])
    return np.where(v < new[0], above, np.where(v > new[1], below, inside))


def seam_of(mouths: list[MarkedMouth]) -> float:
    """Where lips meet, px below the line of the corners: as marked on the least open mouth."""
    return float(np.mean(min(mouths, key=lambda m: m.gap / m.width).lips()))
