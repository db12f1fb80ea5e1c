"""A look at somebody off the picture, of whom only the side is known: told where the eyes go clearly to the other one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from shotcrit.checks.eyeline.finding import Limits, Part, Told, finding_of
from shotcrit.checks.eyeline.judge import mean_look, steady_frames
from shotcrit.checks.eyeline.words import target_words
from shotcrit.checks.finding import Finding
from shotcrit.checks.sure import about, beyond
from shotcrit.geometry.gaze import azimuth_elevation
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import Side
from shotcrit.readings.looks.wanted import JudgedLook

LENS_SIDE_DEG = 5.0
"""Error of what counts as a side (guess: a partner who stands close beside the lens is said to be off to a side, and may be looked at across it)."""
BASIS = "calculated: who is off the picture to one side is not looked at on the other; guess: how clearly the eyes must go there"
OTHER: dict[Side, Side] = {"left": "right", "right": "left", "up": "down", "down": "up"}
TO = {"left": "to screen left", "right": "to screen right", "up": "up", "down": "down"}


def wrong_side(readings: Readings, look: JudgedLook, limits: Limits) -> Iterator[Finding]:
    """Finding off_target where the resting eyes point to the side opposite of the one that the cast says."""
    frames = steady_frames(readings, look, limits)
    if look.side not in OTHER or len(frames) < limits["fewest_frames"]:
        return
    seen, own = mean_look(look, frames)
    away, error = _away(look.side, *map(float, azimuth_elevation(seen))), (own**2 + LENS_SIDE_DEG**2) ** 0.5
    if away <= 0 or not beyond(away, limits["off_deg"], error):
        return
    name, number = target_words(look.at), about(away, error, "degree")
    part: Part = "side" if look.side in ("left", "right") else "height"
    found = finding_of(readings, look, frames, Told(
        "off_target", away, "degrees to the other side than the one said", limits["off_deg"], error,
        f"{look.who} looks {TO[OTHER[look.side]]}{f' by {number}' if number else ''}, and {name} is off the picture {TO[look.side]}",
        f"Turn {look.who}'s eyes {TO[look.side]}; or, if {name} is on the other side, say so in the cast", BASIS, (part,), rests_on=look.rests_on,
    ))  # fmt: skip
    # Where exactly the irises belong is not known, so no ring is drawn.
    yield replace(found, strokes=tuple(stroke for stroke in found.strokes if stroke.kind == "is"))


def _away(side: Side, azimuth: float, elevation: float) -> float:
    """Degrees that a look goes to the other side."""
    return {"left": azimuth, "right": -azimuth, "up": -elevation, "down": elevation}[side]
