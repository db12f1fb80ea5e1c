"""A whole line's mouth: offset, unrelated, loudness, flutter, dead_mouth; and idle, a mouth that works in silence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt

from shotcrit.checks.finding import COMMON, Cause, Curve, Finding
from shotcrit.checks.lipsync.offset import RELATED, Offset, grade_offset
from shotcrit.checks.standing import standing
from shotcrit.checks.sure import beyond
from shotcrit.clock import runs
from shotcrit.counted import counted
from shotcrit.readings.acting import Acting, Mouth
from shotcrit.readings.bundle import Readings
from shotcrit.readings.frame_times import frame_starts
from shotcrit.readings.sound.articulation import wanted_mouth
from shotcrit.readings.speech import Speech

Array = npt.NDArray[np.float64]
Limits = Mapping[str, float]

VOWELS = frozenset(["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"])
OFFSET_BASIS = (
    "ITU-R BT.1359-1 (1998, itu.int): detectable beyond +45/-125 ms, unacceptable beyond +90/-185 ms (+ = picture late); "
    "common practice, no source: level or 1 to 2 frames early, never behind"
)


def offset_finding(readings: Readings, speech: Speech, actor: Acting, offset: Offset, limits: Limits) -> Finding | None:
    """The line's offset where broadcasting would see it, given its error. Its value is in frames; a picture that comes late is positive."""
    ms = offset.milliseconds(readings.clock)
    error_ms = offset.error_frames * 1000 / float(readings.clock.rate)
    limit_ms = limits["late_ms"] if ms > 0 else -limits["early_ms"]
    if not beyond(ms, abs(limit_ms), error_ms):
        return None
    name = "late" if ms > 0 else "early"
    shown = readings.numbering
    return Finding(
        check="lipsync", kind="offset", who=actor.who, span=speech.span, value=round(offset.frames, 2),
        unit="frames, + when the mouth comes late", limit=round(limit_ms * float(readings.clock.rate) / 1000, 2),
        weight="must" if grade_offset(ms) == "unacceptable" else "polish", confidence=round(min(0.99, max(offset.correlation, 0.0)), 2),
        says=f"{actor.who}'s mouth comes about {_frames(offset)} ({abs(ms):.0f} ms) {name} over {shown.text(speech.span)}",
        suggest=f"Move the mouth {counted(abs(round(offset.frames)), 'frame')} {'earlier' if ms > 0 else 'later'}; level or a frame early reads best",
        basis=OFFSET_BASIS, level=actor.level, curves=(_curve(readings, speech, actor.mouth),),
    )  # fmt: skip


def _frames(offset: Offset) -> str:
    """'3 frames'; of slow movies 'half a frame', for there one frame may be too many and none is."""
    return counted(abs(offset.frames), "frame") if abs(offset.frames) > 0.75 else "half a frame"


def _curve(readings: Readings, speech: Speech, mouth: Mouth | None) -> Curve:
    """Wanted against seen over the line; the wanted is scaled to the seen's own range."""
    first, stop = max(0, speech.span.start - 6), min(len(readings.clock), speech.span.stop + 6)
    wanted = wanted_mouth(speech.phones, frame_starts(readings.clock)[first:stop]).opening
    seen = np.full(stop - first, np.nan) if mouth is None else np.asarray(mouth.opening[first:stop], np.float64)
    top = float(np.nanmax(seen)) if np.isfinite(seen).any() else 1.0
    scaled = wanted * (top / max(float(wanted.max()), 1e-9))
    return Curve("mouth opening", "of its width at rest", first, tuple(map(float, seen)), tuple(map(float, scaled)))


def line_findings(
    readings: Readings, speech: Speech, actor: Acting, mouth: Mouth, offset: Offset | None, limits: Limits
) -> Iterator[Finding]:
    """dead_mouth; else unrelated, loudness or offset; and flutter."""
    opening = np.asarray(mouth.opening[speech.span.start : speech.span.stop], np.float64)
    known = opening[np.isfinite(opening)]
    if len(known) < limits["fewest_frames"]:
        return
    if float(np.ptp(known)) < limits["dead_range"] and len(speech.phones) > 3:
        yield _plain(
            readings, speech, actor, "dead_mouth", 100 * float(np.ptp(known)), "% of the mouth's width of movement", 100 * limits["dead_range"], "must",
            f"No mouth movement here yet: {actor.who} speaks over {readings.numbering.text(speech.span)}", "Start with the closures and the open vowels",
            COMMON,
        )  # fmt: skip
        return
    if offset is None:
        return
    loud = _loudness_match(readings, speech, opening)
    if loud >= limits["loudness"] and loud - offset.correlation >= limits["loudness_ahead"]:
        yield _plain(
            readings, speech, actor, "loudness", loud, "correlation of the mouth with loudness", limits["loudness"], "must",
            f"{actor.who}'s mouth opens with the loudness, not with what is said", "Set the closures and the open vowels by the phones", RELATED_BASIS,
        )  # fmt: skip
    elif offset.correlation < limits["related"]:
        yield _plain(
            readings, speech, actor, "unrelated", offset.correlation, "correlation of the mouth with the phones", limits["related"], "must",
            f"{actor.who}'s mouth doesn't follow what is said over {readings.numbering.text(speech.span)}",
            "See whether this mouth belongs to this line; then set closures and open vowels by the track reading", RELATED_BASIS,
        )  # fmt: skip
    else:
        found = offset_finding(readings, speech, actor, offset, limits)
        if found is not None:
            yield found
    yield from _flutter(readings, speech, actor, opening, limits)


RELATED_BASIS = f"guess: a mouth taken from the phones correlates above 0.9, another line's mouth below {RELATED}"


def _loudness_match(readings: Readings, speech: Speech, opening: Array) -> float:
    """Correlation of the opening with each frame's peak of the wave, at the best shift within 3 frames."""
    wave = readings.sound.wave if readings.sound is not None else np.zeros((0, 1, 2), np.float32)
    if len(wave) < speech.span.stop:
        return 0.0
    level = np.sqrt(np.nan_to_num(np.abs(wave)).max(axis=(1, 2)).astype(np.float64))
    best = 0.0
    for shift in range(-3, 4):
        index = np.clip(np.arange(speech.span.start, speech.span.stop) - shift, 0, len(level) - 1)
        good = np.isfinite(opening)
        if good.sum() > 5 and level[index][good].std() > 0:
            best = max(best, float(np.corrcoef(level[index][good], opening[good])[0, 1]))
    return best


def _flutter(readings: Readings, speech: Speech, actor: Acting, opening: Array, limits: Limits) -> Iterator[Finding]:
    filled = np.where(np.isfinite(opening), opening, np.nanmedian(opening))
    strokes = _strokes(filled, 0.15 * float(np.ptp(filled)))
    syllables = sum(phone.phone in VOWELS for phone in speech.phones)
    most = limits["flutter"] * syllables + 1
    if strokes > most:
        yield _plain(
            readings, speech, actor, "flutter", strokes, f"open-shut strokes for {counted(syllables, 'syllable')}", round(most, 1), "polish",
            f"{actor.who}'s mouth chatters: {counted(strokes, 'stroke')} for {counted(syllables, 'syllable')}",
            "Merge strokes: one drop a stressed syllable reads better", COMMON,
        )  # fmt: skip


def _strokes(opening: Array, least: float) -> int:
    """How often it opens and shuts again by `least` or more: the peaks of at least that prominence, shut before and after."""
    strokes, opened, turn = 0, False, 0.0
    for at in (*map(float, opening), 0.0):
        if opened:
            turn = max(turn, at)
            if turn - at >= least > 0:
                strokes, opened, turn = strokes + 1, False, at
        else:
            turn = min(turn, at)
            if at - turn >= least > 0:
                opened, turn = True, at
    return strokes


def _plain(
    readings: Readings, speech: Speech, actor: Acting, kind: str, value: float, unit: str, limit: float, weight: str, says: str, suggest: str,
    basis: str,
) -> Finding:  # fmt: skip
    still = standing(readings, actor.who, speech.span) if kind == "dead_mouth" else ()
    return Finding(
        check="lipsync", kind=kind, who=actor.who, span=speech.span, value=round(value, 2), unit=unit, limit=limit,
        weight="must" if weight == "must" else "polish", confidence=0.8 if actor.level == 2 else 0.95, says=says, suggest=suggest, basis=basis,
        level=actor.level, curves=(_curve(readings, speech, actor.mouth),), causes=(Cause("mouth over the line", actor.who, speech.span), *still),
    )  # fmt: skip


def idle_findings(readings: Readings, actor: Acting, mouth: Mouth, spoken: list[Speech], limits: Limits) -> Iterator[Finding]:
    """A mouth that works where its character neither speaks nor breathes."""
    n = len(readings.clock)
    busy = np.zeros(n, bool)
    margin = limits["idle_margin_s"]
    # In a pause of the sound every breath may be this character's; mouths open 100 to 300 ms before a voice (references 1.10).
    times = [(s.start_s, s.end_s) for s in spoken] + [(b.start_s, b.end_s) for b in (readings.sound.breaths if readings.sound else ())]
    starts = frame_starts(readings.clock)
    for start, end in times:
        busy |= (starts >= start - margin) & (starts <= end + margin)
    moved = np.abs(np.diff(np.asarray(mouth.opening, np.float64), prepend=np.nan))
    noise = np.nan_to_num(np.asarray(mouth.opening_error, np.float64), nan=0.0)
    cuts = set(readings.picture.cuts if readings.picture else ())
    works = (moved > limits["idle_speed"] + 2 * noise) & ~busy & ~np.isin(np.arange(n), list(cuts))
    for span in runs(np.convolve(works, np.ones(5), mode="same") >= 2):
        if works[span.start : span.stop].sum() >= limits["idle_frames"]:
            yield Finding(
                check="lipsync", kind="idle", who=actor.who, span=span, value=int(works[span.start : span.stop].sum()),
                unit="frames of movement in silence", limit=limits["idle_frames"], weight="polish", confidence=0.6,
                says=f"{actor.who}'s mouth works at {readings.numbering.text(span)}, and we hear nothing",
                suggest="Rest the mouth, or give it a reason: a swallow, a breath, a thought", basis=COMMON, level=actor.level,
            )  # fmt: skip
