"""Every measured series of a shot by name, as an array with its unit, on the shot's clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.library.tables import frame_of
from shotcrit.readings.bundle import Readings
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.named import named_series


@dataclass(frozen=True, eq=False)
class Series:
    """One value a frame, or one row of values. A numpy array wherever one is asked for.

    values : [shape=(n_frames, ...)]; nan where it could not be measured, never interpolated
    clock : value i belongs to frame i, which is on screen from clock.start(i) seconds on; first_frame : how people count frame 0
    """

    name: str
    unit: str
    values: npt.NDArray[Any]
    clock: FrameClock
    first_frame: int

    @property
    def frames(self) -> npt.NDArray[np.int64]:
        """The frames' numbers as people count them."""
        return np.arange(len(self.values)) + self.first_frame

    @property
    def seconds(self) -> npt.NDArray[np.float64]:
        """Where each frame starts."""
        return frame_starts(self.clock)

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> npt.NDArray[Any]:
        return np.array(self.values, dtype=dtype, copy=copy)

    def __len__(self) -> int:
        return len(self.values)

    def __getitem__(self, at: Any) -> Any:
        return self.values[at]

    def to_frame(self, library: str | None = None) -> Any:
        """A data frame with columns frame, seconds and the values'. library : 'pandas' or 'polars'"""
        flat = self.values.reshape(len(self.values), -1)
        names = [self.name] if flat.shape[1] == 1 else [f"{self.name}.{i}" for i in range(flat.shape[1])]
        return frame_of({"frame": self.frames, "seconds": self.seconds, **dict(zip(names, flat.T, strict=True))}, library)

    def __repr__(self) -> str:
        each = "" if self.values.ndim == 1 else f" x {' x '.join(map(str, self.values.shape[1:]))}"
        return f"<{self.name}: {len(self.values)}{each} values, {self.unit}, from frame {self.first_frame}>"


def series_of(readings: Readings, wanted: Mapping[str, npt.NDArray[Any]]) -> Mapping[str, Series]:
    """All of them by name. wanted : the opening that each character's phones ask for"""
    found = [*named_series(readings)]
    found += [(f"{who}.mouth.wanted", "parts of the widest opening", values) for who, values in wanted.items()]
    return {name: Series(name, unit, values, readings.clock, readings.movie.first_frame) for name, unit, values in found}
