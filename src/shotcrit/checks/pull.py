"""pull: while somebody speaks, something that is nobody's draws the eye more than the speaker does. Levels 1.5 to 3.

By change first, since what moves is what is looked at. A place that changes and does not stand out by light or colour either is left alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import Curve, Finding, Level, Limit, NotMeasured, Result, Stroke
from shotcrit.clock import Span, runs
from shotcrit.readings.bundle import Readings
from shotcrit.readings.picture.pull import cells_within, mean_over
from shotcrit.readings.picture.stillness.grid import COLUMNS, LINES
from shotcrit.readings.seen import Box, Pull
from shotcrit.readings.shots import shots_between
from shotcrit.readings.speech import speakers, speeches
from shotcrit.readings.where import people_at

Floats = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

ID = "pull"
TITLE = "What draws the eye"
HELP = "Finds what moves behind a speaker, is nobody's, and draws the eye more than the speaker does. A question: the reviewer knows where the eye should be."
NAME = "pull"
VERSION = 1
COLUMN: Column = "picture"
KINDS = (Kind("away", "away from the speaker"),)
NEEDS = Needs(("pictures", "lines", "cast"))
LIMITS = (
    Limit("more", 3, "times", "guess: twice as much is common behind people who talk in a street, and is read past",
          "How much more than the speaker something may change."),
    Limit("change", 12, "luma steps a frame", "guess: twice what a key frame's pulse changes, and less is an ambience",
          "Change, out of 255 steps, from which on something draws the eye."),
    Limit("lasts", 24, "frames", "guess: a second, the time in which the eye goes there, understands, and comes back", "How long it may do so."),
)  # fmt: skip
WINDOW = 12
"""Frames that are taken together (guess: what draws the eye does so for half a second)."""
_PLACES = (("upper", "middle", "lower"), ("left", "middle", "right"))


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kind away. value: how many times as much change as in the speaker."""
    picture, names = readings.picture, speakers(readings)
    if picture is None or picture.pull is None:
        return Result(not_measured=(NotMeasured(ID, None, "pictures"),))
    if not names:
        return Result(not_measured=(NotMeasured(ID, None, "lines that say who speaks"),))
    found: list[Finding] = []
    missing: dict[str, NotMeasured] = {}
    for speech in (speech for who in names for speech in speeches(readings, who, ())):
        there = [span for shot in shots_between(picture.cuts, len(readings.clock)) if (span := shot.overlap(speech.span)) is not None]
        for span in there:
            people = people_at(readings, span)
            if speech.who not in people:
                missing.setdefault(
                    speech.who, NotMeasured(ID, speech.who, f"{speech.who} in the picture, with marks or a face that is known")
                )
            elif len(span) > limits["lasts"]:
                found += _away(readings, picture.pull, _Talk(speech.who, span, people), limits)
    return Result(tuple(found), tuple(missing.values()))


@dataclass(frozen=True)
class _Talk:
    """Somebody speaks over frames of one shot. people : where everybody is, by name"""

    who: str
    span: Span
    people: Mapping[str, tuple[Box, Level]]


def _away(readings: Readings, pull: Pull, talk: _Talk, limits: Limits) -> Iterator[Finding]:
    """One finding for each stretch over which one place draws the eye away."""
    box, level = talk.people[talk.who]
    own = cells_within(box.left, box.top, box.right, box.bottom)
    theirs = np.any([cells_within(b.left, b.top, b.right, b.bottom) for b, _ in talk.people.values()], axis=0)
    if theirs.all() or not own.any():
        return
    change = _smoothed(pull.change[talk.span.start : talk.span.stop].astype(np.float32))
    here, there = change[:, own].max(axis=1), np.where(theirs, 0, change).max(axis=(1, 2))
    least = max(limits["change"], 1e-6)
    drawn = (there > least) & (there > limits["more"] * np.maximum(here, least / limits["more"]))
    for run_ in runs(drawn):
        span = Span(talk.span.start + run_.start, talk.span.start + run_.stop)
        if len(span) <= limits["lasts"]:
            continue
        place = _place(np.where(theirs, 0, change[run_.start : run_.stop].mean(axis=0)))
        looks = mean_over(pull.looks, span)
        if looks[place] < np.median(looks):
            continue
        times = float(np.median(there[run_.start : run_.stop] / np.maximum(here[run_.start : run_.stop], least / limits["more"])))
        yield Finding(
            check=ID, kind="away", who=talk.who, span=span, value=round(times, 1), unit="times as much change as in the speaker", limit=limits["more"],
            weight="polish", confidence=0.5, level=level,
            says=f"While {talk.who} speaks, what moves at the {_name(place)} of the picture draws the eye away over {readings.numbering.text(span)}",
            suggest=f"Is the eye meant to go there? If it should stay on {talk.who}, calm that movement, or hold it back until the line is over",
            basis=LIMITS[0].basis, curves=(_curve(there, here, run_, span),), strokes=(_around(place, span),),
        )  # fmt: skip


def _smoothed(change: Floats) -> Floats:
    """Mean over WINDOW frames around each, so that one frame's jump draws nobody."""
    sums = np.cumsum(np.concatenate([np.zeros((1, *change.shape[1:]), np.float32), change]), axis=0)
    stop = np.minimum(np.arange(len(change)) + WINDOW // 2, len(change))
    start = np.maximum(np.arange(len(change)) - WINDOW // 2, 0)
    return np.asarray((sums[stop] - sums[start]) / (stop - start)[:, None, None], np.float32)


def _place(change: Floats) -> tuple[int, int]:
    """Row and column of the cell that changes most."""
    row, column = np.unravel_index(int(change.argmax()), change.shape)
    return int(row), int(column)


def _name(place: tuple[int, int]) -> str:
    """'upper left', 'middle'"""
    names = [words[place[axis] * 3 // size] for axis, (words, size) in enumerate(zip(_PLACES, (LINES, COLUMNS), strict=True))]
    return "middle" if names == ["middle", "middle"] else " ".join(name for name in names if name != "middle")


def _around(place: tuple[int, int], span: Span) -> Stroke:
    """The place and its neighbours, on the middle frame."""
    row, column = place
    box = Box(max(column - 1, 0) / COLUMNS, max(row - 1, 0) / LINES, min(column + 2, COLUMNS) / COLUMNS, min(row + 2, LINES) / LINES)
    return Stroke((span.start + span.last) // 2, "patch", box.outline, "draws the eye")


def _curve(there: Floats, here: Floats, run_: Span, span: Span) -> Curve:
    rows = slice(run_.start, run_.stop)
    seen, wanted = tuple(map(float, there[rows])), tuple(map(float, here[rows]))
    return Curve("change there, and in the speaker as wanted", "luma steps a frame", span.start, seen, wanted)
