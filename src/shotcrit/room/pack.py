"""Arrays on their way to the page."""

from __future__ import annotations

from base64 import b64encode
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.room.shapes.common import Packed

FULL_SCALE = 127
"""The wave's full scale as int8."""


def packed_floats(values: npt.ArrayLike) -> Packed:
    """float32 little-endian; nan stays nan."""
    array = np.ascontiguousarray(values, dtype="<f4")
    return Packed(dtype="float32", shape=list(array.shape), data=_text(array))


def packed_wave(wave: npt.NDArray[np.float32]) -> Packed:
    """Samples -1 .. 1 as int8 -127 .. 127; what lies above full scale is clipped."""
    array = np.round(np.clip(np.nan_to_num(wave), -1, 1) * FULL_SCALE).astype(np.int8)
    return Packed(dtype="int8", shape=list(array.shape), data=_text(array))


def _text(array: npt.NDArray[Any]) -> str:
    return b64encode(array.tobytes()).decode("ascii")
