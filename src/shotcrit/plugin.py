"""What a check from another package may import. Promised to stay: names and fields here keep their meaning until a release that says otherwise.

A check is a module, or an object, with ID, TITLE, HELP, LIMITS and run(readings, limits) -> Result, named by an entry point of the group
'shotcrit.checks'. It may also have NAME, KINDS, COLUMN, NEEDS and VERSION (see About). `run` is pure: readings in, findings out.

A test may call `about(check)`, which refuses what the door would refuse, and `limits_for(check, {})`.
"""

from __future__ import annotations

from shotcrit.checks.about import About, Check, Column, Kind, Limits, Needs, about
from shotcrit.checks.finding import COMMON, Curve, Finding, Level, Limit, NotMeasured, Plan, PlanRay, PlanThing, Result, Stroke, Weight
from shotcrit.checks.registry import limits_for
from shotcrit.clock import FrameClock, Numbering, Span
from shotcrit.media.info import MovieInfo, SoundInfo
from shotcrit.readings.acting import Acting, CameraView, Gaze, Head, MarkTrack, Mouth
from shotcrit.readings.bundle import PictureReadings, Readings, Series, SoundReadings
from shotcrit.readings.cast import Cast, Character, Contact, LookAt, Prop
from shotcrit.readings.events import Accent, Blink, Breath, Line, Look, Phone, Tremor, Voicing, Word

__all__ = [
    "COMMON",
    "About",
    "Accent",
    "Acting",
    "Blink",
    "Breath",
    "CameraView",
    "Cast",
    "Character",
    "Check",
    "Column",
    "Contact",
    "Curve",
    "Finding",
    "FrameClock",
    "Gaze",
    "Head",
    "Kind",
    "Level",
    "Limit",
    "Limits",
    "Line",
    "Look",
    "LookAt",
    "MarkTrack",
    "Mouth",
    "MovieInfo",
    "Needs",
    "NotMeasured",
    "Numbering",
    "Phone",
    "PictureReadings",
    "Plan",
    "PlanRay",
    "PlanThing",
    "Prop",
    "Readings",
    "Result",
    "Series",
    "SoundInfo",
    "SoundReadings",
    "Span",
    "Stroke",
    "Tremor",
    "Voicing",
    "Weight",
    "Word",
    "about",
    "limits_for",
]
