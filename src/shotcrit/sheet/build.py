"""From a measurement to the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from shotcrit.checks.finding import Finding
from shotcrit.checks.measured import Measured
from shotcrit.readings.bundle import Readings
from shotcrit.sheet.lanes.beside import brackets
from shotcrit.sheet.lanes.gazes import eye_lanes
from shotcrit.sheet.lanes.heard import heard_lanes
from shotcrit.sheet.lanes.seen import body_lanes, mouth_lanes, picture_lane
from shotcrit.sheet.model import Lane, Sheet


def build_sheet(measured: Measured) -> Sheet:
    """Lay everything measured out in rows. Pure."""
    readings = measured.readings
    return Sheet(
        title=shot_title(readings.movie.name),
        clock=readings.clock,
        numbering=readings.numbering,
        people=people(readings),
        lanes=lanes(readings, measured.findings),
        found=brackets(measured.findings),
        counts=readings.counts,
    )


def lanes(readings: Readings, findings: Sequence[Finding]) -> tuple[Lane, ...]:
    """Every lane that has something in it, in the columns' order. findings: those that count."""
    return tuple(lane for lane in _lanes(readings, findings) if lane)


def _lanes(readings: Readings, findings: Sequence[Finding]) -> Iterator[Lane]:
    if readings.picture is not None:
        yield picture_lane(readings.picture, findings)
    if readings.sound is not None:
        yield from heard_lanes(readings.sound, readings.clock)
    yield from mouth_lanes(readings)
    yield from eye_lanes(readings.looks, readings.blinks, findings)
    yield from body_lanes(readings)


def shot_title(name: str) -> str:
    """The movie's name without its ending: 'Lantern 040.mov' -> 'Lantern 040'."""
    stem, dot, ending = name.rpartition(".")
    return stem if dot and stem and ending.isalnum() and len(ending) <= 5 else name


def people(readings: Readings) -> tuple[str, ...]:
    """Who is in the shot: the cast, then whoever the lines give words to, each once."""
    cast = [c.name for c in readings.cast.characters] if readings.cast else []
    speakers: Iterable[str] = [line.who for line in readings.sound.lines if line.who] if readings.sound else []
    return tuple(dict.fromkeys([*cast, *speakers]))
