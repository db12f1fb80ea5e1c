"""Each cut: whether the shots on its sides are long enough to read, how far the centre of interest jumps, whether a movement carries over."""

from __future__ import annotations

import itertools

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.cut import gaze as cut_gaze
from shotcrit.checks.cut import line as cut_line
from shotcrit.checks.cut.meeting import SIDES
from shotcrit.checks.finding import COMMON, Cause, Finding, Limit, NotMeasured, Result, Stroke
from shotcrit.clock import Span
from shotcrit.counted import counted
from shotcrit.readings.bundle import PictureReadings, Readings
from shotcrit.readings.cast import EYE_MARKS, HEAD_MARKS

ID = "cut"
TITLE = "Cuts"
HELP = "Judges each cut: looks that meet across it or ask for an answer, the line between two people, directions, jumps, shots too short or too alike."
NAME = "cut"
VERSION = 2
COLUMN: Column = "picture"
KINDS = (
    Kind("short", "short"),
    Kind("jump", "jump"),
    Kind("faces_do_not_meet", "faces do not meet"),
    Kind("crossed_line", "crossed line"),
    Kind("direction_flips", "direction flips"),
    Kind("too_alike", "too alike"),
    Kind("unclear_point_of_view", "unclear point of view"),
)
NEEDS = Needs(("pictures", "cast"), marks=(*EYE_MARKS, *HEAD_MARKS), theirs=("eye_left", *HEAD_MARKS))

_READ = (
    "AWN Toon Institute, Timing (undated, awn.com/tooninstitute): '6 frames is considered the shortest amount of screen time for a hold'"
)
_JUMP = (
    "Cutting (2021, doi:10.1163/22134913-bja10032): after a cut the next focus lies on the same side, save in a dialogue's reverse; "
    "guess: the distance, nearly half of the picture"
)
LIMITS = (
    Limit("shot", 6, "frames", _READ, "Frames that a shot needs to be read, at the least."),
    Limit("jump", 0.45, "of the width", _JUMP, "How far the centre of interest may jump across a cut."),
    *cut_gaze.LIMITS,
    *cut_line.LIMITS,
)
SETTLE = 3
"""frames on each side of a cut whose movement says where the interest is (guess)."""


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds short and jump, and those of cut_gaze and cut_line."""
    picture = readings.picture
    if picture is None:
        return Result(not_measured=(NotMeasured(ID, None, "pictures"),))
    across = list(cut_gaze.gaze_across(readings, limits))
    found = [f for f in across if isinstance(f, Finding)]
    missing = [m for m in across if isinstance(m, NotMeasured)]
    if picture.cuts and not readings.acting:
        missing.append(
            NotMeasured(
                ID,
                None,
                "marks for the eyes of who is on each side of a cut, or a scene with cameras, to judge looks and the line across it",
            )
        )
    seen = (*_short(readings, picture, limits), *_jumps(readings, picture, limits))
    return Result((*seen, *found, *cut_line.staging(readings, limits)), tuple(dict.fromkeys(missing)))


def _short(readings: Readings, picture: PictureReadings, limits: Limits) -> list[Finding]:
    """Shots under the reading time. The limit is in frames of 1/24 s and is scaled to the movie's rate."""
    need = limits["shot"] * float(readings.movie.rate) / 24
    edges = [0, *picture.cuts, len(readings.clock)]
    found = []
    for first, stop in itertools.pairwise(edges):
        if len(picture.cuts) == 0 or stop - first >= need:
            continue
        span = Span(first, stop)
        says = f"The shot at {readings.numbering.text(span)} lasts {counted(len(span), 'frame')}, too short to be read."
        suggest = "Hold it longer, or join it to its neighbour; leave it if it is meant to flash by."
        found.append(Finding(ID, "short", None, span, float(len(span)), "frames", round(need, 1), "polish", 0.8, says, suggest, _READ))
    return found


def _jumps(readings: Readings, picture: PictureReadings, limits: Limits) -> list[Finding]:
    centre = picture.centre
    if centre is None:
        return []
    # In a dialogue's reverse the two stand on opposite sides of the middle, as they should (Cutting 2021).
    answered = cut_gaze.reverses(readings)
    found = []
    for cut in picture.cuts:
        before, after = _interest(centre[max(0, cut - SETTLE) : cut]), _interest(centre[cut + 1 : cut + 1 + SETTLE])
        if before is None or after is None:
            continue
        jump = float(abs(after[0] - before[0]))
        if jump <= limits["jump"] or cut in answered:
            continue
        at = Span(cut, cut + 1)
        says = f"At the cut to {readings.numbering.text(at)} what we watch jumps {_share(jump)} of the width, and the eye has to search for it."
        suggest = "Bring the next point of interest nearer to where the last one was, unless this is the reverse of a dialogue."
        slip = Stroke(cut, "slip", (before, after), f"{_share(jump)} of the width")
        found.append(
            Finding(ID, "jump", None, at, round(jump, 2), "of the width", limits["jump"], "polish", 0.4, says, suggest, f"{_JUMP}; {COMMON}", strokes=(slip,),
                    causes=(Cause(SIDES, "", at),))
        )  # fmt: skip
    return found


def _share(part: float) -> str:
    return f"{100 * part:.0f} %"


def _interest(centre: npt.NDArray[np.float32]) -> tuple[float, float] | None:
    """Middle of the movement's centres; None where nothing moves."""
    known = centre[np.isfinite(centre).all(axis=1)]
    if not len(known):
        return None
    x, y = np.median(known, axis=0)
    return float(x), float(y)
