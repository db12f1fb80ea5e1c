"""Arrays on their way to the page."""

from __future__ import annotations

from base64 import b64encode
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.crit.records import Shape

FULL_SCALE = 127
"""The wave's full scale as int8."""


class Packed(Shape):
    """An array: little-endian, C order, base64. float32 uses NaN for 'not measured'."""

    dtype: Literal["float32", "int8", "uint8"]
    shape: list[int]
    data: str


def packed_floats(values: npt.ArrayLike) -> Packed:
    """float32 little-endian; nan stays nan."""
    array = np.ascontiguousarray(values, dtype="<f4")
    return Packed(dtype="float32", shape=list(array.shape), data=_text(array))


def packed_wave(wave: npt.NDArray[np.float32]) -> Packed:
    """Samples -1 .. 1 as int8 -127 .. 127; what lies above full scale is clipped."""
    array = np.round(np.clip(np.nan_to_num(wave), -1, 1) * FULL_SCALE).astype(np.int8)
    return Packed(dtype="int8", shape=list(array.shape), data=_text(array))


def edges(clock: FrameClock) -> list[float]:
    """frames + 1 times in seconds."""
    return [float(edge) for edge in clock.edges]


def _text(array: npt.NDArray[Any]) -> str:
    return b64encode(array.tobytes()).decode("ascii")
