"""Every measured series by the name that scripts know it by, with its unit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy.typing as npt

from shotcrit.readings.acting import Acting
from shotcrit.readings.bundle import Readings

Named = Iterator[tuple[str, str, npt.NDArray[Any]]]


def named_series(readings: Readings) -> Named:
    """Name, unit and values [shape=(n_frames, ...)] of each; nan where it could not be measured, never interpolated."""
    yield from _of_medium(readings)
    for who in dict.fromkeys(actor.who for actor in readings.acting):
        actor = readings.actor(who)
        if actor is not None:
            yield from ((f"{who}.{name}", unit, values) for name, unit, values in _of_actor(actor))


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
