"""Every measured series of a shot by name, as an array with its unit, on the shot's clock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from shotcrit.clock import FrameClock
from shotcrit.library.tables import frame_of
from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings
from shotcrit.readings.frame_times import frame_starts


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
    found = [*_of_medium(readings)]
    for who in dict.fromkeys(actor.who for actor in readings.acting):
        actor = readings.actor(who)
        found += [(f"{who}.{name}", unit, values) for name, unit, values in (_of_actor(actor) if actor else ())]
    found += [(f"{who}.mouth.wanted", "parts of the widest opening", values) for who, values in wanted.items()]
    return {name: Series(name, unit, values, readings.clock, readings.movie.first_frame) for name, unit, values in found}


Named = Iterator[tuple[str, str, npt.NDArray[Any]]]


def _of_medium(readings: Readings) -> Named:
    if readings.picture is not None:
        yield "movement", readings.picture.movement.unit, readings.picture.movement.values
        yield "dead", "true where a frame repeats the one before", readings.picture.dead
    if readings.sound is not None and readings.sound.wave.size:
        yield "wave", "of full scale, least and greatest in each part of a frame", readings.sound.wave


def _of_actor(actor: Acting) -> Named:
    if actor.mouth is not None:
        for name in ("opening", "width", "opening_error", "width_error"):
            yield f"mouth.{name}", "of the mouth's width at rest", getattr(actor.mouth, name)
        yield "mouth.meets", "probability that the lips meet", actor.mouth.meets
    for side, lid in actor.lids.items():
        yield f"lids.{side}", "of the open eye", lid
    for side, gaze in actor.gaze.items():
        yield f"gaze.{side}", "direction as the camera sees it: right, down, away", gaze.direction
        yield f"gaze.{side}.error", "degrees", gaze.error_deg
    if actor.head is not None:
        yield "head.direction", "direction as the camera sees it: right, down, away", actor.head.direction
        yield "head.height", "px", actor.head.height_px
    for name, track in actor.marks.items():
        yield f"marks.{name}", "of the picture's width and height", track.xy
        yield f"marks.{name}.error", "px", track.error_px
