"""The given lines against what is said: a line that was not spoken as written, spoken out of order, or doubtful in part."""

from __future__ import annotations

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.finding import Finding, Limit, NotMeasured, Result
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings
from shotcrit.readings.events import Line

ID = "lines"
TITLE = "Lines as written"
HELP = "Tells which of the given lines were not spoken as written, or not in that order. Words and phones exist only for lines that were heard."
NAME = "lines"
VERSION = 2
COLUMN: Column = "words"
KINDS = (
    Kind("not_spoken", "not spoken"),
    Kind("doubtful", "doubtful"),
)
NEEDS = Needs(("sound", "lines"))
LIMITS = (
    Limit(
        "certainty",
        0.35,
        "certainty, 1 = sure",
        "measured: of 174 lines that were said (read, whispered, shouted, 20 dB over room tone) one is under it and not otherwise pointed out, "
        "docs/decisions.md has the recipe",
        "A heard line less certain than this is pointed out.",
    ),
)
MOST_PHONES = 12
"""Phones in a sentence; the JSON has them all."""
TO_HEAR = "a cleaner recording of it, its words and phones as a TextGrid, or the words dragged into place in the room"


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds not_spoken and doubtful; value: how certain it is that the line was spoken, 0 to 1. What cannot be heard is not measured."""
    if readings.sound is None:
        return Result(not_measured=(NotMeasured(ID, None, "sound"),))
    if not readings.sound.lines:
        return Result(not_measured=(NotMeasured(ID, None, "the lines, as a text file, WebVTT, SubRip or a TextGrid"),))
    lines = readings.sound.lines
    unclear = tuple(_unclear(line) for line in lines if not line.heard and line.why in ("unclear", "unsayable"))
    return Result(tuple(f for line in lines if (f := _finding(readings, line, limits["certainty"])) is not None), unclear)


def _unclear(line: Line) -> NotMeasured:
    what = f"“{_short(line.text)}”: {line.problem}"
    return NotMeasured(ID, line.who, what if line.why == "unsayable" else f"{TO_HEAR}; {what}")


def _finding(readings: Readings, line: Line, certainty: float) -> Finding | None:
    title = _short(line.text)
    if not line.heard:
        if line.why in ("unclear", "unsayable"):
            return None
        kind, says = "not_spoken", f"“{title}” is not what is said here: {line.problem or 'it was not heard'}{_instead(line)}."
        suggest = (
            "Correct the lines to what is said, or check that this is the right sound; until then the line has no words and no phones."
        )
    elif line.problem is not None or line.confidence < certainty:
        kind, says = "doubtful", f"“{title}”: {line.problem or 'it is hard to make out in this sound'}{_instead(line)}."
        suggest = "Listen to it, correct the lines or type how the word is said as [word|W ER D], and measure again."
    else:
        return None
    sure = 1.0 - line.confidence if line.why == "otherwise" or not line.heard else 0.5
    basis = LIMITS[0].basis
    return Finding(
        ID, kind, line.who, _span(readings, line), round(line.confidence, 3), LIMITS[0].unit, certainty, "polish", round(sure, 3), says, suggest, basis, 1
    )  # fmt: skip


def _instead(line: Line) -> str:
    """What was heard in its place, as far as a sentence can hold it."""
    phones = line.instead.split() if line.instead else []
    if not phones:
        return ""
    return f" (heard instead: {' '.join(phones[:MOST_PHONES])}{' ...' if len(phones) > MOST_PHONES else ''})"


def _short(text: str) -> str:
    words = text.split()
    return text if len(words) <= 8 else " ".join(words[:8]) + " ..."


def _span(readings: Readings, line: Line) -> Span:
    """Where the line is, or where its cue says; else the whole shot."""
    whole = Span(0, len(readings.clock))
    if line.start_s is None or line.end_s is None or line.end_s <= line.start_s:
        return whole
    return readings.clock.frames(line.start_s, line.end_s) or whole
