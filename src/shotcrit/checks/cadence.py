"""The rhythm of new pictures: conversions named, work on twos in a moving shot, frames doubled or dropped, rates and lengths that do not fit."""

from __future__ import annotations

from collections import Counter
from math import log

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import COMMON, Finding, Limit, NotMeasured, Result, Weight
from shotcrit.clock import Span, rate_label
from shotcrit.counted import counted
from shotcrit.readings.bundle import PictureReadings, Readings

ID = "cadence"
TITLE = "Cadence and rate"
HELP = "Names rate conversions, finds doubled and dropped frames, twos that fight a moving camera, a variable rate, sound and picture of unlike length."
NAME = "cadence"
VERSION = 3
COLUMN: Column = "picture"
KINDS = (
    Kind("conversion", "conversion"),
    Kind("twos", "twos"),
    Kind("doubled", "doubled"),
    Kind("dropped", "dropped"),
    Kind("variable", "variable"),
    Kind("length", "length"),
)
NEEDS = Needs(("pictures",))

_TWOS = (
    "Whitaker & Halas (1981, Timing for Animation, 'Single frames or double frames?', year from memory): twos under pans and trucks jitter"
)
LIMITS = (
    Limit(
        "doubled", 0, "frames", f"{COMMON}: a doubled frame in a movement is a fault of export or edit", "Doubled frames allowed in a shot."
    ),
    Limit(
        "dropped", 0, "frames", f"{COMMON}: a dropped frame in a movement is a fault of export or edit", "Dropped frames allowed in a shot."
    ),
    Limit(
        "pan",
        0.002,
        "of the width a frame",
        f"{_TWOS}; guess: the speed, a 500th of the picture a frame",
        "Camera movement above which a figure on twos is said to jitter.",
    ),
    Limit("length", 1, "frames", f"{COMMON}: one frame of rounding", "How far the sound may end before or after the picture."),
    Limit("conversion", 0, "conversions", f"{COMMON}: shots are judged at the rate they were made at", "Rate conversions allowed."),
)


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds conversion, twos, doubled, dropped, variable, length. That a shot is on ones or twos is a reading, not a finding."""
    if readings.picture is None:
        return Result(not_measured=(NotMeasured(ID, None, "pictures"),))
    found = [
        *_conversion(readings, readings.picture, limits),
        *_twos(readings, readings.picture, limits),
        *_singles(readings, readings.picture, limits),
        *_variable(readings),
        *_length(readings, limits),
    ]
    return Result(tuple(found))


def _whole(readings: Readings) -> Span:
    return Span(0, len(readings.clock))


def _conversion(readings: Readings, picture: PictureReadings, limits: Limits) -> list[Finding]:
    """One finding that names the conversion; the repeats that it makes are no holds."""
    cadence = picture.cadence
    if cadence is None or cadence.kind == "step" or limits["conversion"] >= 1:
        return []
    period, repeats = cadence.period, cadence.repeats
    if cadence.kind == "pulldown":
        says = f"The picture went through {cadence.name}: two of every five frames are mixed from two pictures."
    else:
        each = f"{repeats} of every {counted(period, 'frame')} {'repeats' if repeats == 1 else 'repeat'} the one before"
        each = each if repeats > 0 else f"1 of every {period} pictures is missing"
        says = f"The picture was converted from {cadence.name}: {each}."
    suggest = "Ask for the movie at the rate it was animated at; the notes count the frames of this copy."
    basis = "calculated: the frames that this conversion repeats, mixes or leaves out are known, and so it is here"
    return [
        Finding(ID, "conversion", None, _whole(readings), round(float(cadence.source or 0), 3), "pictures a second, before it was converted",
                float(readings.movie.rate), "must", round(min(0.99, cadence.fit), 2), says, suggest, basis)
    ]  # fmt: skip


def _twos(readings: Readings, picture: PictureReadings, limits: Limits) -> list[Finding]:
    """A figure on twos or threes while the camera moves on every frame. A stepped pass is on any number, and is meant to be."""
    if readings.medium == "blocking":
        return []
    found = []
    pan = limits["pan"] * (readings.movie.width or 1)
    for region in picture.regions:
        speed = _camera_speed(picture, region.shot)
        if region.step < 2 or speed <= pan:
            continue
        word = {2: "twos", 3: "threes"}[region.step]
        says = f"The figure {region.box.where} is on {word} while the camera moves on ones, about {speed:.0f} px a frame, so it jitters against the set."
        suggest = "Put the figure on ones for as long as the camera moves."
        found.append(
            Finding(ID, "twos", None, region.shot, float(region.step), "frames a drawing", 1, "polish", round(0.5 + 0.4 * region.alive, 2), says, suggest,
                    _TWOS)
        )  # fmt: skip
    return found


def _camera_speed(picture: PictureReadings, shot: Span) -> float:
    """Quadratic mean of the set's movement over a shot, px a frame."""
    if picture.camera is None or len(shot) < 2:
        return 0.0
    camera = picture.camera[shot.start + 1 : shot.stop, :, 2]
    return float((camera**2).sum(axis=1).mean() ** 0.5)


_SURE = {"doubled": 0.9, "dropped": 0.6}
"""A rule, not a measured probability: a dropped frame can be a drawn accent."""


def _singles(readings: Readings, picture: PictureReadings, limits: Limits) -> list[Finding]:
    """One finding for all doubled frames, and one for all that are missing: they are one fault of export or edit."""
    found = []
    single = {"doubled": picture.cadence.doubled, "dropped": picture.cadence.dropped} if picture.cadence else {}
    for name, confidence in _SURE.items():
        frames = single.get(name, ())
        if len(frames) <= limits[name]:
            continue
        each = tuple(sorted(set(frames)))
        span = Span(each[0], each[-1] + 1)
        basis = next(limit.basis for limit in LIMITS if limit.name == name)
        suggest = f"Check the export and the edit for {'a ' if len(frames) == 1 else ''}{name} {'frame' if len(frames) == 1 else 'frames'}."
        says = _doubled(readings, each) if name == "doubled" else _dropped(readings, frames)
        found.append(
            Finding(ID, name, None, span, len(frames), "frames", limits[name], "must", confidence, says, suggest, basis, frames=each)
        )  # fmt: skip
    return found


def _doubled(readings: Readings, frames: tuple[int, ...]) -> str:
    if len(frames) == 1:
        return f"Frame {readings.numbering.listed(frames)} repeats the one before in the middle of a move."
    return f"{counted(len(frames), 'frame')} repeat the one before in the middle of a move: {readings.numbering.listed(frames)}."


def _dropped(readings: Readings, frames: tuple[int, ...]) -> str:
    """frames : one that goes three times as far stands twice"""
    far = Counter(frames)
    if len(far) == 1:
        missing, times = ("A frame is", "twice") if len(frames) == 1 else ("Two frames are", "three times")
        return f"{missing} missing before {readings.numbering.listed(frames[:1])}: there the move goes {times} as far as on either side."
    each = readings.numbering.listed(tuple(far))
    return f"{counted(len(frames), 'frame')} are missing, before {each}: there the move goes twice as far as on either side, or farther."


SEEN_JITTER = 0.5
"""Of a frame: where times stray by less (a camera's clock, milliseconds rounded), each picture still stands for one frame, and nothing is held back (guess)."""


def _variable(readings: Readings) -> list[Finding]:
    if not readings.movie.variable_rate:
        return []
    clock = readings.clock
    lengths = [float(clock.stop(i) - clock.start(i)) for i in range(len(clock))]
    nominal = 1 / float(clock.rate)
    oddest = max(range(len(lengths)), key=lambda i: abs(log(lengths[i] / nominal)))
    ratio = lengths[oddest] / nominal
    says = (
        f"Frames of this movie don't last equally long: frame {readings.numbering.shown(oddest)} "
        f"stays for {1000 * lengths[oddest]:.0f} ms, and at {rate_label(clock.rate)} a frame lasts {1000 * nominal:.0f} ms."
    )
    suggest = "Export again at a constant rate; the times in this review are the file's own."
    basis = "calculated: the file's own time stamps"
    weight: Weight = "must" if abs(ratio - 1) >= SEEN_JITTER else "polish"
    return [Finding(ID, "variable", None, _whole(readings), round(ratio, 2), "times a frame", 1, weight, 0.99, says, suggest, basis)]


def _length(readings: Readings, limits: Limits) -> list[Finding]:
    """Sound that ends well before or after the picture. Positive: the sound runs on after the picture."""
    sound, movie = readings.movie.sound, readings.movie
    if sound is None or movie.ended_early is not None:
        return []
    over = float((sound.offset_s + sound.duration_s - movie.duration_s) * movie.rate)
    if abs(over) <= limits["length"] + CODEC_TAIL_S * float(movie.rate):
        return []
    way = "runs {} past the picture" if over > 0 else "ends {} before the picture"
    says = f"The sound {way.format(counted(abs(over), 'frame', digits=1))}."
    suggest = "Trim or extend one of them; if they should fit, one was exported at another rate or with other handles."
    last = Span(len(readings.clock) - 1, len(readings.clock))
    return [
        Finding(ID, "length", None, last, round(over, 1), "frames, + when the sound is longer", limits["length"], "polish", 0.95, says, suggest,
                f"{COMMON}: sound and picture of a shot are of one length")
    ]  # fmt: skip


CODEC_TAIL_S = 0.06
"""Seconds that an AAC or MP3 stream may run over for its block length (2 x 1024 samples at 44100 Hz, and rounding)."""
