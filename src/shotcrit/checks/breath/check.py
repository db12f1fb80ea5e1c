"""Breaths. From the sound alone: long speech in which none is heard. Against the body: needs marks or a scene."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shotcrit.checks.about import Column, Kind, Limits, Needs
from shotcrit.checks.breath.acted import ACTED_LIMITS, acted_findings
from shotcrit.checks.breath.line import LINE_LIMITS, line_findings
from shotcrit.checks.finding import Finding, Limit, NotMeasured, Result
from shotcrit.clock import Span
from shotcrit.readings.bundle import Readings, SoundReadings
from shotcrit.readings.cast import HEAD_MARKS, MOUTH_MARKS
from shotcrit.readings.events import Breath

ID = "breath"
TITLE = "Breaths"
HELP = "Points out long speech in which no breath is heard, and holds each audible breath against chest, shoulders and mouth."
NAME = "breath"
VERSION = 2
COLUMN: Column = "body"
KINDS = (
    Kind("unheard", "unheard"),
    Kind("missing", "missing"),
    Kind("timing", "timing"),
    Kind("smack", "smack"),
    Kind("still_chest", "still chest"),
    Kind("tremor", "tremor"),
)
NEEDS = Needs(("sound", "lines", "cast"), marks=("chest", "shoulder_left", "shoulder_right", "hips", *MOUTH_MARKS, *HEAD_MARKS))
LIMITS = (
    Limit(
        "longest_run",
        12,
        "s",
        "Rochet-Capellan & Fuchs (2013), Interspeech, 2014-2018: 'average duration of the breath group was 3.5 s'; "
        "guess: more than three of them with no breath are a reason to ask",
        "Speech without an audible breath up to this long is not pointed out.",
    ),
    Limit(
        "rest",
        1.5,
        "s",
        "guess: a pause in which one can breathe unheard; breathing in takes less than a second (Autesserre et al. 1989, Eurospeech, 2433-2436)",
        "A pause from this length on ends a run, whether a breath is heard in it or not.",
    ),
    *ACTED_LIMITS,
    *LINE_LIMITS,
)
BODY_NEEDS = "marks on chest and shoulders (and hips), or a scene with those nodes, to see whether the breaths are acted"


@dataclass(frozen=True)
class _Stretch:
    who: str | None
    start_s: float
    end_s: float


def run(readings: Readings, limits: Limits) -> Result:
    """Findings of kinds unheard (sound alone), missing, timing, smack (breath_acted), still_chest, tremor (breath_line)."""
    if readings.sound is None:
        return Result(not_measured=(NotMeasured(ID, None, "sound"),))
    runs = breathless(readings.sound, limits["rest"])
    deaf = _deaf(readings.sound, runs, limits["longest_run"])
    found = [] if deaf else [_unheard(readings, stretch, limits) for stretch in runs]
    acted = list(acted_findings(readings, limits))
    findings = [*(f for f in found if f is not None), *(a for a in acted if isinstance(a, Finding)), *line_findings(readings, limits)]
    missing = dict.fromkeys(
        (*deaf, *_without_lines(readings.sound), *_without_body(readings), *(a for a in acted if isinstance(a, NotMeasured)))
    )
    return Result(tuple(findings), tuple(missing))


def _deaf(sound: SoundReadings, runs: Sequence[_Stretch], longest_s: float) -> tuple[NotMeasured, ...]:
    """Why nobody can say that no breath is heard: noise, or nothing that tells a voice from music."""
    if sound.breaths_need is not None:
        return (NotMeasured(ID, None, sound.breaths_need),)
    if not sound.words and any(run.end_s - run.start_s > longest_s for run in runs):
        return (NotMeasured(ID, None, "lines that are heard, to tell long speech without a breath from music and other sounds"),)
    return ()


def _without_lines(sound: SoundReadings) -> tuple[NotMeasured, ...]:
    """What is no breath in what was heard, though it may be one: a noise with no sentence beside it could be wind or music."""
    if sound.words or not any(v.kind == "voiced" for v in sound.voicing):
        return ()
    return (NotMeasured(ID, None, "lines that are heard, to tell a breath before a single word, and panting, from other noises"),)


def _spoken(sound: SoundReadings) -> list[_Stretch]:
    """What is said and by whom: words, or voiced stretches where there are no words."""
    if sound.words:
        return [_Stretch(w.who, w.start_s, w.end_s) for w in sound.words]
    return [_Stretch(None, v.start_s, v.end_s) for v in sound.voicing if v.kind == "voiced"]


def breathless(sound: SoundReadings, rest_s: float) -> list[_Stretch]:
    """Each speaker's runs of speech with neither an audible breath nor a pause of `rest_s` in them."""
    spoken = _spoken(sound)
    runs: list[_Stretch] = []
    for who in dict.fromkeys(s.who for s in spoken):
        run: _Stretch | None = None
        for part in sorted((s for s in spoken if s.who == who), key=lambda s: s.start_s):
            if run is not None and part.start_s - run.end_s < rest_s and not _breath_in(sound.breaths, run.end_s, part.start_s, who):
                run = _Stretch(who, run.start_s, max(run.end_s, part.end_s))
                continue
            if run is not None:
                runs.append(run)
            run = part
        if run is not None:
            runs.append(run)
    return runs


def _breath_in(breaths: Sequence[Breath], start_s: float, end_s: float, who: str | None) -> bool:
    return any(b.kind != "smack" and b.who in (None, who) and b.start_s < end_s and b.end_s > start_s for b in breaths)


def _unheard(readings: Readings, run: _Stretch, limits: Limits) -> Finding | None:
    length, limit = run.end_s - run.start_s, limits["longest_run"]
    span = readings.clock.frames(run.start_s, run.end_s)
    if length <= limit or span is None:
        return None
    says = f"{run.who or 'The voice'} talks for {length:.0f} seconds, and we hear no breath."
    suggest = "Listen whether the breaths were cut out of the recording or missed here; a body that talks this long must still be seen to breathe."
    return Finding(
        ID, "unheard", run.who, Span(span.start, span.stop), round(length, 2), "s", limit, "polish", 0.5, says, suggest, LIMITS[0].basis, 0
    )  # fmt: skip


def _without_body(readings: Readings) -> tuple[NotMeasured, ...]:
    """Who cannot be held against the breaths: characters with neither chest nor shoulders known."""
    sound = readings.sound
    names: list[str | None] = [c.name for c in readings.cast.characters] if readings.cast else []
    if not names and sound is not None:
        names = list(dict.fromkeys(w.who for w in sound.words)) or [None]
    bare = [name for name in names if not _has_body(readings, name)]
    return tuple(NotMeasured(ID, name, f"{BODY_NEEDS}{readings.lost_nodes(name) if name else ''}") for name in bare)


def _has_body(readings: Readings, name: str | None) -> bool:
    actor = readings.actor(name) if name is not None else None
    return actor is not None and any(mark in actor.marks for mark in ("chest", "shoulder_left", "shoulder_right"))
