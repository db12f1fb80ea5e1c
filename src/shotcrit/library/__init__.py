"""Shotcrit as a library. `import shotcrit` gives these names; they are loaded when the first of them is asked for."""

from __future__ import annotations

from shotcrit.errors import InputError, MediaError, MissingExtra, ShotcritError, Stopped
from shotcrit.library.crit import Crit, CritDrawing, CritNote, CritTake, read
from shotcrit.library.items import Accent, Blink, Breath, Finding, Item, Items, Line, Look, NotMeasured, Phone, Tremor, Word
from shotcrit.library.series import Series
from shotcrit.library.sheet import SheetDrawing
from shotcrit.library.shot import Shot, measure

__all__ = [
    "Accent",
    "Blink",
    "Breath",
    "Crit",
    "CritDrawing",
    "CritNote",
    "CritTake",
    "Finding",
    "InputError",
    "Item",
    "Items",
    "Line",
    "Look",
    "MediaError",
    "MissingExtra",
    "NotMeasured",
    "Phone",
    "Series",
    "SheetDrawing",
    "Shot",
    "ShotcritError",
    "Stopped",
    "Tremor",
    "Word",
    "measure",
    "read",
]
"""All that is promised to stay. A test holds docs/do/in-a-notebook.md to it."""
