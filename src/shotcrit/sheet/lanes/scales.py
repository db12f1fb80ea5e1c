"""Values as parts of a lane's width."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
FULL_PERCENTILE = 99.0
"""A curve is full at this percentile, so that one wild frame does not flatten the rest (guess)."""


def full(values: Floats) -> Floats:
    """Values as a part of their own height, 0..1; nan stays nan."""
    known = values[np.isfinite(values)]
    top = float(np.percentile(known, FULL_PERCENTILE)) if len(known) else 0.0
    return np.clip(values / top, 0, 1).astype(np.float32) if top > 0 else np.where(np.isfinite(values), 0, values).astype(np.float32)


def swing(values: Floats) -> Floats:
    """Values that rise and fall about nought, 0..1 with nought in the middle."""
    known = np.abs(values[np.isfinite(values)])
    top = float(np.percentile(known, FULL_PERCENTILE)) if len(known) else 0.0
    return (
        np.clip(0.5 + values / (2 * top), 0, 1).astype(np.float32)
        if top > 0
        else np.where(np.isfinite(values), 0.5, values).astype(np.float32)
    )


def on_one_scale(parts: tuple[Floats, ...]) -> tuple[Floats, ...]:
    """Curves between their common least and greatest value, nought among them."""
    known = np.concatenate([*(part[np.isfinite(part)] for part in parts), np.zeros(1, np.float32)])
    low, high = float(known.min()), float(known.max())
    reach = high - low or 1.0
    return tuple(((part - low) / reach).astype(np.float32) for part in parts)
