"""Curves over frames: keys with slow in and slow out, small living movement, pulses."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def eased(keys: Sequence[tuple[float, float]], u: np.ndarray) -> np.ndarray:
    """Through keys (frame, value), at rest on each of them."""
    frames, values = np.array([k[0] for k in keys], float), np.array([k[1] for k in keys], float)
    if len(keys) == 1:
        return np.full(len(u), values[0])
    i = np.clip(np.searchsorted(frames, u, side="right") - 1, 0, len(frames) - 2)
    t = np.clip((u - frames[i]) / (frames[i + 1] - frames[i]), 0, 1)
    return values[i] + (values[i + 1] - values[i]) * (t * t * t * (t * (6 * t - 15) + 10) * 0.5 + t * t * (3 - 2 * t) * 0.5)


def ramp(u: np.ndarray, low: float, high: float) -> np.ndarray:
    t = np.clip((u - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


def alive(u: np.ndarray, seed: int, size: float, period: float = 40.0) -> np.ndarray:
    """A slow wander of about `size`, from four sines of unrelated periods (frames)."""
    rng = np.random.default_rng(seed)
    out = np.zeros(len(u))
    for k, share in enumerate((0.5, 0.28, 0.15, 0.07)):
        out += share * np.sin(2 * np.pi * u / (period / (1.0 + 0.83 * k)) + rng.uniform(0, 2 * np.pi))
    return out * size


def follow(values: np.ndarray, frames: float) -> np.ndarray:
    """The same curve, late and softened by about `frames`: how a loose part trails."""
    out, state, keep = np.empty_like(values), values[0], np.exp(-1.0 / frames)
    for i, value in enumerate(values):
        state = keep * state + (1 - keep) * value
        out[i] = state
    return out


def blink(u: np.ndarray, starts: Sequence[float]) -> np.ndarray:
    """1 = shut. Two frames down, one and a half shut, four up: closing is the faster half."""
    shape = ((0, 0.0), (1, 0.55), (2, 1.0), (3.3, 1.0), (4.3, 0.62), (5.6, 0.22), (7.2, 0.0))
    out = np.zeros(len(u))
    for start in starts:
        out = np.maximum(out, np.interp(u - start, [s[0] for s in shape], [s[1] for s in shape], left=0, right=0))
    return out
