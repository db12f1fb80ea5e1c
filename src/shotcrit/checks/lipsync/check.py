"""lipsync: the mouth against what each phone asks for. Levels 1.5 (faces that were found), 2 and 3, with lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from shotcrit.checks.about import Column, Kind, Needs
from shotcrit.checks.finding import COMMON, Finding, Limit, NotMeasured, Result
from shotcrit.checks.lipsync.found import FOUND, of_found_face, unfound, unread
from shotcrit.checks.lipsync.line import OFFSET_BASIS, RELATED_BASIS, idle_findings, line_findings
from shotcrit.checks.lipsync.offset import RELATED, best_offset
from shotcrit.checks.lipsync.phones import CLOSURE_BASIS, JAW_BASIS, ROUND_BASIS, SPREAD_BASIS, TEETH_BASIS, Heard, phone_findings
from shotcrit.checks.lipsync.untold import Untold, needs, untold
from shotcrit.readings.acting import Acting, Mouth
from shotcrit.readings.bundle import Readings
from shotcrit.readings.cast import HEAD_MARKS, MOUTH_MARKS
from shotcrit.readings.speech import Speech, speeches

ID = "lipsync"
TITLE = "Mouth against sound"
HELP = "Whether the mouth does what the phones ask for, and when: offset, closures, teeth on lip, rounding, spreading, jaw, flutter, dead or idle mouth."
NAME = "mouth"
VERSION = 3
COLUMN: Column = "mouth"
KINDS = (
    Kind("offset", "offset"),
    Kind("closure", "closure"),
    Kind("teeth_on_lip", "teeth on lip"),
    Kind("round", "round"),
    Kind("spread", "spread"),
    Kind("jaw", "jaw"),
    Kind("flutter", "flutter"),
    Kind("dead_mouth", "dead mouth"),
    Kind("unrelated", "unrelated"),
    Kind("loudness", "loudness"),
    Kind("idle", "idle"),
)
NEEDS = Needs(("sound", "lines", "cast"), marks=(*MOUTH_MARKS, *HEAD_MARKS))
LIMITS = (
    Limit("late_ms", 45, "ms", OFFSET_BASIS, "How late a mouth may come."),
    Limit("early_ms", 125, "ms", OFFSET_BASIS, "How early a mouth may come."),
    Limit("related", RELATED, "correlation", RELATED_BASIS, "Below this the mouth does not follow the phones."),
    Limit(
        "loudness",
        0.8,
        "correlation",
        "guess: a jaw that the wave moves follows it nearly exactly",
        "From here on a mouth may be following the loudness.",
    ),
    Limit(
        "loudness_ahead",
        0.1,
        "correlation",
        "guess: two correlations over some hundred frames differ by 0.05 by chance",
        "How much better it follows the loudness than the phones, to be called so.",
    ),
    Limit("closure_window", 1, "frames", COMMON, "How far from an m, b or p its closure may lie."),
    Limit(
        "lips_meet", 0.03, "of the mouth's width at rest", "guess: about 1.5 mm of a 50 mm mouth", "Lip gap up to which lips count as shut."
    ),
    Limit("lips_meet_share", 0.12, "of the line's widest opening", CLOSURE_BASIS, "The same against the line's own range."),
    Limit(
        "teeth_on_lip", 0.45, "of the line's widest opening", TEETH_BASIS, "Lip gap up to which an f or v can have the lip on the teeth."
    ),
    Limit("round", 0.04, "of the line's usual width", ROUND_BASIS, "How much narrower the mouth must get on w, oo, oh."),
    Limit("spread", 0.12, "of the line's usual width", SPREAD_BASIS, "How much wider than asked for the corners may pull."),
    Limit("jaw", 0.35, "of the line's widest opening", JAW_BASIS, "Least drop on a stressed open vowel."),
    Limit("flutter", 1.5, "strokes a syllable", COMMON, "Open-shut strokes a syllable may have."),
    Limit(
        "dead_range",
        0.03,
        "of the mouth's width at rest",
        "guess: 1.5 mm of a 50 mm mouth, less than any vowel opens it",
        "Movement below which a speaking mouth stands still.",
    ),
    Limit("fewest_frames", 6, "frames", "guess: a quarter of a second, about one syllable", "Frames of known mouth that a line needs."),
    Limit(
        "idle_margin_s",
        0.35,
        "s",
        "mouths open 100 to 300 ms before the voice (Chandrasekaran et al. 2009, PLoS Comput. Biol. 5:e1000436, figure from memory)",
        "Room round speech.",
    ),
    Limit(
        "idle_speed",
        0.03,
        "of the mouth's width a frame",
        "guess: 1.5 mm of a 50 mm mouth, above the noise of a followed lip",
        "Movement that counts as working.",
    ),
    Limit("idle_frames", 4, "frames", COMMON, "Working frames in silence that are one too many."),
    Limit(
        "sure",
        0.96,
        "confidence",
        "guess: two standard errors, so that the error bar does not reach the limit",
        "How sure a single phone's finding must be; what lies past its limit and is less sure is named as not measured.",
    ),
)
POOL_FRAMES = 30
"""A line with fewer frames than this takes the offset of all the character's lines together (guess)."""


def run(readings: Readings, limits: Mapping[str, float]) -> Result:
    """Judge every character that has a mouth, on every line that is theirs; say what is missing for the others."""
    mouths = [actor for actor in _best(readings) if actor.mouth is not None]
    missing = [*_missing(readings, mouths), *unread(readings), *unfound(readings)]
    findings: list[Finding] = []
    for actor in mouths:
        if actor.mouth is None or readings.sound is None or not readings.sound.phones:
            continue
        spoken = list(speeches(readings, actor.who, mouths))
        if not spoken:
            missing.append(NotMeasured(ID, actor.who, "a line of this character's; name the speaker in the lines as 'Name: words'"))
            continue
        judged = list(_judge(readings, actor, actor.mouth, spoken, limits))
        if actor.level == FOUND:
            judged = list(of_found_face(judged, actor.who))
        findings += [one for one in judged if isinstance(one, Finding)]
        missing += needs(ID, actor.who, [one for one in judged if isinstance(one, Untold)])
    return Result(tuple(findings), tuple(missing))


def _best(readings: Readings) -> list[Acting]:
    names = dict.fromkeys(actor.who for actor in readings.acting)
    characters = {c.name for c in readings.cast.characters} if readings.cast else set(names)
    best = [actor for name in names if (actor := readings.with_mouth(name)) is not None]
    return [actor for actor in best if actor.who in characters or actor.level == FOUND]


def _missing(readings: Readings, mouths: list[Acting]) -> Iterator[NotMeasured]:
    if readings.sound is None:
        yield NotMeasured(ID, None, "sound")
    elif not readings.sound.phones:
        yield NotMeasured(ID, None, "lines: what is said, as text or WebVTT")
    seen = {actor.who for actor in mouths}
    characters = readings.cast.characters if readings.cast else ()
    if not characters and not mouths:
        yield NotMeasured(ID, None, "a cast with the mouth's four marks on a character, or a scene with its mouth nodes")
    for character in characters:
        if character.name not in seen:
            actor = readings.actor(character.name)
            why = actor.lacks.get("mouth") if actor else None
            needs = why or "marks on mouth_left, mouth_right, lip_upper, lip_lower, or a scene with these nodes"
            yield NotMeasured(ID, character.name, f"{needs}{readings.lost_nodes(character.name)}")
        elif (actor := readings.with_mouth(character.name)) is not None and "mouth" in actor.lacks:
            yield NotMeasured(ID, character.name, f"{actor.lacks['mouth']} (measured, but its scale may be off)")


def _judge(
    readings: Readings, actor: Acting, mouth: Mouth, spoken: list[Speech], limits: Mapping[str, float]
) -> Iterator[Finding | Untold]:
    opening = np.asarray(mouth.opening, np.float64)
    every = np.concatenate([_known_frames(opening, speech) for speech in spoken])
    pooled = best_offset(opening, [p for s in spoken for p in s.phones], readings.clock, frames=every) if len(every) else None
    reach = _reach(opening[every]) if len(every) else float("nan")
    for speech in spoken:
        frames = _known_frames(opening, speech)
        own = best_offset(opening, speech.phones, readings.clock, frames=frames)
        offset = own if len(frames) >= POOL_FRAMES or pooled is None else pooled
        yield from line_findings(readings, speech, actor, mouth, offset, limits)
        if offset is None or offset.correlation < limits["related"] or not np.isfinite(reach) or reach <= limits["dead_range"]:
            continue
        widths = mouth.width[frames] if len(frames) else mouth.width
        usual = float(np.nanmedian(widths)) if np.isfinite(widths).any() else 1.0
        shift = offset.frames if abs(offset.frames) > 2 * offset.error_frames else 0.0
        heard = Heard(readings, speech, actor, mouth, shift, max(_reach(opening[frames]), 0.5 * reach) if len(frames) else reach, usual)
        yield from phone_findings(heard, limits)
        yield from untold(heard, limits)
    yield from idle_findings(readings, actor, mouth, spoken, limits)


def _reach(opening: np.ndarray) -> float:
    """The open end of a mouth: the 95th percentile of its opening."""
    known = opening[np.isfinite(opening)]
    return float(np.percentile(known, 95)) if len(known) else float("nan")


def _known_frames(opening: np.ndarray, speech: Speech) -> np.ndarray:
    frames = np.arange(max(0, speech.span.start - 4), min(len(opening), speech.span.stop + 4))
    return np.asarray(frames[np.isfinite(opening[frames])], np.int64)
