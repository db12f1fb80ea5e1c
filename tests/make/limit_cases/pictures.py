"""What hold, cadence, flash, and cut's two that need no faces let pass. Readings made by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np

from shotcrit.clock import Span
from shotcrit.media.info import SoundInfo
from shotcrit.readings.acting import Acting, MarkTrack
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.cast import parse_cast
from shotcrit.readings.events import Phone, Word
from shotcrit.readings.seen import Box, Flashing, FrozenRegion, LiveRegion, Pull
from tests.make.limit_cases.case import Case
from tests.make.picture_rows import paced, with_picture

FRAMES = 100
WIDTH = 1920


def still(first: int, length: float) -> Readings:
    repeats = np.zeros(FRAMES, np.bool_)
    repeats[first : first + round(length)] = True
    return with_picture(FRAMES, repeats=repeats)


def tail(length: float) -> Readings:
    return still(FRAMES - round(length), length)


def leaving(share: float) -> Readings:
    """Eight dead frames, then a first step of `share` of the full speed."""
    base = still(40, 8)
    assert base.picture is not None
    speed = np.full(FRAMES, 10, np.float32)
    speed[48] = 10 * share
    return replace(base, picture=replace(base.picture, movement=replace(base.picture.movement, values=speed)))


def frozen(length: float) -> Readings:
    """A named figure's region stands over the last frames of a shot that moves on; her marks stand with it."""
    span = Span(FRAMES - round(length), FRAMES)
    xy = np.stack([0.5 + 0.002 * np.arange(FRAMES), np.full(FRAMES, 0.5)], axis=1).astype(np.float32)
    xy[span.start - 1 :] = xy[span.start - 1]
    marks = {
        name: MarkTrack("Oona", name, xy + np.float32(at), np.full(FRAMES, 0.05, np.float32))
        for name, at in (("nose", 0.0), ("chin", 0.01), ("chest", 0.02))
    }
    base = with_picture(FRAMES, frozen=(FrozenRegion(span, Box(0.2, 0.2, 0.9, 0.9)),))
    return replace(base, acting=(Acting("Oona", 2, marks),))


def singles(name: str, count: float) -> Readings:
    frames = tuple(10 + 5 * k for k in range(round(count)))
    return with_picture(FRAMES, cadence=paced(np.zeros(FRAMES, np.bool_), **{name: frames}))


def converted(count: float) -> Readings:
    cadence = paced(
        np.zeros(FRAMES, np.bool_),
        kind="conversion",
        name="24 to 25 frames per second by repeats",
        period=25,
        repeats=1,
        source=Fraction(24),
    )
    return with_picture(FRAMES, cadence=cadence) if count else with_picture(FRAMES)


def panned(speed: float) -> Readings:
    """A figure on twos, and a set that goes by at `speed` of the width a frame."""
    camera = np.zeros((FRAMES, 2, 3), np.float32)
    camera[:, 0, 0] = camera[:, 1, 1] = 1
    camera[1:, 0, 2] = speed * WIDTH
    region = LiveRegion(Span(0, FRAMES), Box(0.4, 0.4, 0.6, 0.6), 2, 0.5)
    return with_picture(FRAMES, camera=camera, regions=(region,))


def overlong(frames: float) -> Readings:
    """Sound that runs on for so many frames after the picture."""
    base = with_picture(FRAMES)
    sound = SoundInfo(48000, 1, Fraction(0), Fraction(FRAMES, 24) + Fraction(frames / 24).limit_denominator(10**6))
    return replace(base, movie=replace(base.movie, sound=sound))


def flashing(changes: float, area: float = 1.0) -> Readings:
    """So many opposing changes within one second, each over `area` of the picture."""
    up, down = np.zeros(48, np.float32), np.zeros(48, np.float32)
    for k in range(round(changes)):
        (up if k % 2 == 0 else down)[1 + 23 * k // max(1, round(changes))] = area
    none = np.zeros(48, np.float32)
    return with_picture(48, flashing=Flashing(up, down, none, none))


def shot_of(frames: float) -> Readings:
    return with_picture(FRAMES, cuts=(30, 30 + round(frames)))


def jumping(share: float) -> Readings:
    centre = np.full((FRAMES, 2), 0.5, np.float32)
    centre[:50, 0], centre[50:, 0] = 0.5 - share / 2, 0.5 + share / 2
    return with_picture(FRAMES, cuts=(50,), centre=centre)


def drawn(length: float) -> Readings:
    return replace(tail(length), medium="drawn")


def drawing_away(times: float, change: float = 80, frames: float = 60) -> Readings:
    """Ada speaks at the left, and something at the upper right changes by so many luma steps a frame, `times` as much as she does."""
    moving = np.zeros((FRAMES, 9, 16), np.float16)
    moving[:, 4:8, 3:5] = change / times
    moving[20 : 20 + round(frames), 1, 12] = change
    looks = np.full(moving.shape, 0.2, np.float16)
    looks[:, 1, 12] = 0.9
    place = np.tile(np.float32([0.25, 0.5]), (FRAMES, 1))
    marks = {"nose": MarkTrack("Ada", "nose", place, np.full(FRAMES, 0.05, np.float32))}
    end = FRAMES / 24
    said = SoundReadings(words=(Word("aah", "Ada", 0.0, end),), phones=(Phone("AA", 1, 0, 0.0, end),))
    base = with_picture(FRAMES, pull=Pull(looks, moving))
    return replace(base, sound=said, cast=parse_cast({"characters": [{"name": "Ada"}]}, name="c"), acting=(Acting("Ada", 2, marks),))


CASES = {
    "hold.ends": Case(tail, "tail", 0, 20, at=2, whole=True),
    "hold.inside": Case(lambda n: still(40, n), "inside", 0, 20, at=4, whole=True),
    "hold.drawn": Case(drawn, "tail", 0, 60, at=24, whole=True),
    "hold.exit_hold": Case(lambda n: still(40, n), "exit", 1, 20, at=4, whole=True),
    "hold.exit_share": Case(leaving, "exit", 0.1, 1.0, at=0.5, within=0.01),
    "hold.region_must": Case(frozen, "region", 4, 40, at=6, whole=True, weight="must"),
    "cadence.doubled": Case(lambda n: singles("doubled", n), "doubled", 0, 5, at=1, whole=True),
    "cadence.dropped": Case(lambda n: singles("dropped", n), "dropped", 0, 5, at=1, whole=True),
    "cadence.conversion": Case(converted, "conversion", 0, 1, at=1, whole=True),
    "cadence.pan": Case(panned, "twos", 0.0, 0.02, at=0.002, within=0.0001),
    # One frame, and 0.06 s that a codec's block may run over: 2.44 frames at 24.
    "cadence.length": Case(overlong, "length", 0.0, 12.0, at=2.44, within=0.02),
    # WCAG 2.2 (2023), 2.3.1: more than three flashes in a second, seven opposing changes; a quarter of the picture.
    "flash.rate": Case(flashing, "general", 2, 12, at=7, whole=True),
    "flash.area": Case(lambda area: flashing(10, area), "general", 0.05, 0.9, at=0.25, within=0.005),
    "cut.shot": Case(shot_of, "short", 20, 1, at=5, whole=True),
    "pull.more": Case(drawing_away, "away", 1.0, 10.0, at=3.0, within=0.01),
    "pull.change": Case(lambda change: drawing_away(1e6, change), "away", 0.0, 80, at=12, within=0.01),
    # At 1.8 times that speed the mean over twelve frames is past it once seven are of it: one frame fewer than move.
    "pull.lasts": Case(lambda frames: drawing_away(1e6, 22, frames), "away", 5, 70, at=26, whole=True),
    "cut.jump": Case(jumping, "jump", 0.1, 0.9, at=0.45, within=0.005),
}
