"""arc: path and spacing of every mark of body and props. Levels 2 and 3.

What is odd on one frame is told by comparing what could have happened (readings/motion/local.py): smooth movement however fast, a hit, a stop or a jump of
the follower is none of it. Camera moves are taken out first; what the whole picture does, and what lies beside a repeated frame, is left to others.
"""

from __future__ import annotations

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.arc.events import Event, events_of
from shotcrit.checks.arc.grouped import Fault, faults_of
from shotcrit.checks.arc.words import amount, drawn, says, spacing
from shotcrit.checks.finding import COMMON, Finding, Limit, NotMeasured, Result, Weight
from shotcrit.readings.bundle import Readings
from shotcrit.readings.motion.paths import paths_of

ID = "arc"
TITLE = "Arcs and spacing"
HELP = "Follows the way of every mark of body and props: a frame off its path, a stop or a corner in it, no ease, a shake; draws the arc with its ticks."
NAME = "arc"
VERSION = 1
COLUMN: Column = "body"
KINDS = (
    Kind("pop", "pop"),
    Kind("hitch", "hitch"),
    Kind("kink", "broken arc"),
    Kind("no_ease", "no ease"),
    Kind("jitter", "jitter"),
)
MARKS = (
    "hips", "chest", "head_top", "nose", "shoulder_left", "shoulder_right", "hand_left", "hand_right", "knee_left", "knee_right", "foot_left", "foot_right",
)  # fmt: skip
NEEDS = Needs(("cast",), marks=MARKS)
STEP = f"{COMMON}: a step of two or three pixels between neighbours is seen"
LIMITS = (
    Limit("pop", 0.0015, "of the picture's width", STEP, "How far one frame may lie off the path of its neighbours."),
    Limit("must_share", 0.006, "of the picture's width", "guess: 12 px of 1920", "From here on a frame off its path holds the shot back."),
    Limit("clear", 2.0, "times", "measured: on 132 s of captured and 400 s of made-up motion nothing clean reaches 2, and 98 of 100 planted frames pass it",
          "How much better an excursion of one frame has to explain the path than all else that could have happened."),
    Limit("hitch", 0.15, "of the speed around it", "guess: the ease of a quick move is a third on its slowest frame (calculated: minimum jerk over 3 frames)",
          "A mark that keeps less of its speed than this for up to three frames, and goes on as before, has a hitch."),
    Limit("speed", 0.003, "of the width a frame", "guess: 6 px of 1920 a frame, since a slower mark may rest",
          "Speed from which on stops and corners are judged."),
    Limit("keeps", 0.8, "of the speed around it", "people slow down in bends: speed goes with curvature to the power of -1/3 "
          "(Lacquaniti et al. 1983, Acta Psychol. 54:115-130); guess: the part", 
        "A corner is broken when the mark keeps at least so much of its speed through it."),
    Limit("ease", 0.6, "of full speed", "calculated: a minimum-jerk move of 3 frames (Flash & Hogan 1985, J. Neurosci. 5:1688-1703) "
          "has 36 % on its first; guess: the margin",
          "The most that the first step out of a rest, or the last into one, may have."),
    Limit("ease_speed", 0.003, "of the width a frame", "guess: 6 px of 1920 a frame", "Full speed from which on a start or stop needs an ease."),
    Limit("jitter", 0.0005, "of the picture's width", f"{COMMON}: a shake of a pixel is seen on a thing that should rest",
          "Shake from frame to frame that is allowed."),
)  # fmt: skip
LIMIT_OF = {"pop": "pop", "hitch": "hitch", "kink": "keeps", "no_ease": "ease", "jitter": "jitter"}


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds pop, hitch, kink, no_ease, jitter; nothing in a stepped pass or a drawn shot, which jump on purpose."""
    if readings.medium != "cg":
        return Result()
    paths = paths_of(readings)
    if not paths:
        return Result(not_measured=(NotMeasured(ID, None, "marks on bodies and props that are followed, or a scene with its cameras"),))
    width = readings.movie.width or 1
    events = [event for path in paths for event in events_of(path, width, limits)]
    return Result(tuple(_finding(readings, fault, limits) for fault in faults_of(readings, paths, events)))


def _finding(readings: Readings, fault: Fault, limits: Limits) -> Finding:
    event = fault.leads
    value, unit = amount(event)
    name = LIMIT_OF[event.kind]
    in_px = event.kind in ("pop", "jitter")
    limit = limits[name] * (readings.movie.width or 1) if in_px else 90.0 if event.kind == "kink" else limits[name]
    wrong, suggest = says(fault, readings.numbering)
    return Finding(
        check=ID, kind=event.kind, who=event.path.who, span=fault.span, value=value, unit=unit, limit=round(limit, 2), weight=_weight(readings, event, limits),
        confidence=_confidence(event), says=wrong, suggest=suggest, basis=next(one.basis for one in LIMITS if one.name == name), level=event.path.level,
        curves=(spacing(fault, limit),), strokes=drawn(readings, fault),
    )  # fmt: skip


def _weight(readings: Readings, event: Event, limits: Limits) -> Weight:
    """Only a frame that lies far off, by marks that are sure of it, holds a shot back."""
    far = event.kind == "pop" and event.px - 3 * event.error > limits["must_share"] * (readings.movie.width or 1)
    return "must" if far and (event.path.level == 3 or event.px > 10 * event.error) else "polish"


def _confidence(event: Event) -> float:
    """A rule, not a measured probability: corners and eases are matters of taste, a follower may be wrong where a scene is not."""
    base = {"pop": 0.95, "hitch": 0.85, "kink": 0.6, "no_ease": 0.6, "jitter": 0.7}[event.kind]
    return base if event.path.level == 3 else round(base - 0.15, 2)
