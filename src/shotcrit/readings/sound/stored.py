"""Sound readings as JSON and back, for the cache."""

from __future__ import annotations

from typing import Any

import numpy as np
from pydantic import TypeAdapter, ValidationError

from shotcrit.errors import ReadingError
from shotcrit.readings.bundle import SoundReadings
from shotcrit.readings.events import Accent, Breath, Line, Phone, Tremor, Voicing, Word

VERSION = "11"
"""Raise it whenever the same sound and lines would read differently: cached readings carry it."""

_PARTS: dict[str, TypeAdapter[Any]] = {
    "lines": TypeAdapter(tuple[Line, ...]),
    "words": TypeAdapter(tuple[Word, ...]),
    "phones": TypeAdapter(tuple[Phone, ...]),
    "breaths": TypeAdapter(tuple[Breath, ...]),
    "tremors": TypeAdapter(tuple[Tremor, ...]),
    "accents": TypeAdapter(tuple[Accent, ...]),
    "voicing": TypeAdapter(tuple[Voicing, ...]),
    "breaths_need": TypeAdapter(str | None),
}


def sound_to_json(sound: SoundReadings) -> dict[str, Any]:
    """Plain lists and numbers, ready for json.dumps; nan in the wave is written as null."""
    data: dict[str, Any] = {name: adapter.dump_python(getattr(sound, name), mode="json") for name, adapter in _PARTS.items()}
    flat = [None if np.isnan(v) else float(v) for v in sound.wave.ravel()]
    return {**data, "wave": {"shape": list(sound.wave.shape), "values": flat}}


def sound_from_json(data: dict[str, Any]) -> SoundReadings:
    """The readings that sound_to_json wrote. Raises ReadingError when they are anything else: measure again then."""
    try:
        parts = {name: adapter.validate_python(data[name]) for name, adapter in _PARTS.items()}
        values = np.array([np.nan if v is None else v for v in data["wave"]["values"]], np.float32)
        return SoundReadings(**parts, wave=values.reshape(data["wave"]["shape"]))
    except (KeyError, TypeError, ValueError, ValidationError) as problem:
        raise ReadingError("the stored sound readings are of another make; delete them and measure again") from problem
