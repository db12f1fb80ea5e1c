"""`measure --json`: everything measured, as the document that other programs read (schema 'shotcrit.measure/1')."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import IO, Any

from shotcrit.checks.finding import Curve, Finding, NotMeasured, Plan, Stroke
from shotcrit.checks.measured import Measured
from shotcrit.clock import FrameClock, Numbering, Span, rate_text, runs
from shotcrit.deliver.atomic import write_whole
from shotcrit.deliver.numbers import json_real
from shotcrit.media.info import MovieInfo, SoundInfo
from shotcrit.readings.bundle import PictureReadings, Readings, SoundReadings
from shotcrit.sheet.plain import sentence

SCHEMA = "shotcrit.measure/1"

Json = dict[str, Any]


def measure_document(measured: Measured) -> Json:
    """The contract's document, keys always in this order. Frames are as shown to people, both ends in; nan is null."""
    readings = measured.readings
    return {
        "schema": SCHEMA,
        "movie": movie_part(readings.movie),
        "medium": readings.medium,
        "events": _events(readings),
        "findings": [finding_part(f, readings.numbering) for f in measured.findings],
        "not_measured": [_missing(m) for m in measured.not_measured],
        "assumed": [{"about": a.about, "says": sentence(a.says)} for a in readings.assumed],
    }


def measure_text(measured: Measured) -> str:
    """The document as UTF-8 JSON text, two spaces deep, ending in a newline; refuses nan (ValueError) rather than leak it."""
    return json.dumps(measure_document(measured), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def write_measure_json(measured: Measured, to: Path | str | IO[str]) -> None:
    """Write the document to a path, whole or not at all, or to an open text file. Raises InputError when the path cannot be written."""
    text = measure_text(measured)
    if isinstance(to, str | Path):
        write_whole(Path(to), text.encode("utf-8", "replace"))
    else:
        to.write(text)


def measure_schema() -> Json:
    """The JSON Schema (2020-12) that the document keeps to."""
    schema: Json = json.loads(files("shotcrit.deliver").joinpath("measure.schema.json").read_text(encoding="utf-8"))
    return schema


def movie_part(info: MovieInfo) -> Json:
    """The movie as both `measure` and `follow` write it."""
    return {
        "name": info.name,
        "sha256": info.sha256,
        "frames": info.frames,
        "rate": rate_text(info.rate),
        "width": info.width,
        "height": info.height,
        "first_frame": info.first_frame,
        "duration_s": json_real(info.duration_s),
        "sound": None if info.sound is None else _sound(info.sound),
        "variable_rate": info.variable_rate,
        "timecode": info.timecode,
        "ended_early": info.ended_early,
    }


def finding_part(finding: Finding, numbering: Numbering) -> Json:
    """A finding as both `measure` and `follow` write it."""
    return {
        "check": finding.check,
        "kind": finding.kind,
        "who": finding.who,
        "first": numbering.shown(finding.span.start),
        "last": numbering.shown(finding.span.last),
        "value": json_real(finding.value),
        "unit": finding.unit,
        "limit": json_real(finding.limit),
        "weight": finding.weight,
        "confidence": json_real(finding.confidence),
        "says": finding.says,
        "try": finding.suggest,
        "basis": finding.basis,
        "level": finding.level,
        "frames": [numbering.shown(frame) for frame in finding.frames],
        "rests_on": list(finding.rests_on),
        "curves": [_curve(c, numbering) for c in finding.curves],
        "strokes": [_stroke(s, numbering) for s in finding.strokes],
        "plans": [_plan(p, numbering) for p in finding.plans],
    }


def _sound(info: SoundInfo) -> Json:
    return {
        "rate": info.rate,
        "channels": info.channels,
        "offset_s": json_real(info.offset_s),
        "duration_s": json_real(info.duration_s),
    }


def _events(readings: Readings) -> Json:
    shown = readings.numbering.shown
    sound = readings.sound or SoundReadings()
    cuts = readings.picture.cuts if readings.picture else ()
    return {
        "cuts": [shown(cut) for cut in cuts],
        **_paced(readings.picture, readings.numbering),
        **_unacted(readings.picture, readings.numbering),
        **_spoken(sound, readings.clock, readings.numbering),
        **_breathed(sound, readings.clock, readings.numbering),
        "looks": [
            {
                "who": k.who,
                "at": k.at,
                "first": shown(k.first),
                "last": shown(k.last),
                "proposed": k.proposed,
                "confidence": json_real(k.confidence),
            }
            for k in readings.looks
        ],
        "blinks": [
            {"who": b.who, "first": shown(b.first), "shut": shown(b.shut), "last": shown(b.last), "partial": b.partial}
            for b in readings.blinks
        ],
        "tremors": [
            {**_times(t.start_s, t.end_s), "rate_hz": json_real(t.rate_hz), "depth": json_real(t.depth), "carrier": t.carrier}
            for t in sound.tremors
        ],
    }


def _paced(picture: PictureReadings | None, numbering: Numbering) -> Json:
    """Dead frames, however few, and the rhythm of new pictures."""
    if picture is None:
        return {"dead": [], "cadence": None}
    cadence = picture.cadence
    rhythm = None if cadence is None else {
        "kind": cadence.kind,
        "name": cadence.name,
        "period": cadence.period,
        "repeats": cadence.repeats,
        "source_rate": None if cadence.source is None else json_real(cadence.source),
    }  # fmt: skip
    return {
        "dead": [_stretch(run, numbering) for run in runs(picture.dead)],
        "cadence": rhythm,
    }


def _unacted(picture: PictureReadings | None, numbering: Numbering) -> Json:
    """Stretches in which nobody acts."""
    black, fades, cards = (picture.black, picture.fades, picture.cards) if picture else ((), (), ())
    return {
        "black": [_stretch(span, numbering) for span in black],
        "fades": [{**_stretch(fade.span, numbering), "kind": fade.kind} for fade in fades],
        "cards": [_stretch(span, numbering) for span in cards],
    }


def _stretch(span: Span, numbering: Numbering) -> Json:
    return {"first": numbering.shown(span.start), "last": numbering.shown(span.last)}


def _breathed(sound: SoundReadings, clock: FrameClock, numbering: Numbering) -> Json:
    return {
        "breaths": [
            {
                "kind": b.kind,
                **_times(b.start_s, b.end_s),
                "level_db": json_real(b.level_db),
                **_frames(b.start_s, b.end_s, clock, numbering),
                "who": b.who,
                "confidence": json_real(b.confidence),
            }
            for b in sound.breaths
        ],
        "accents": [
            {
                "time_s": json_real(a.time_s),
                "frame": numbering.shown(clock.frame_at(a.time_s)),
                "strength": json_real(a.strength),
                "rank": a.rank,
                "word": a.word,
            }
            for a in sound.accents
        ],
    }


def _spoken(sound: SoundReadings, clock: FrameClock, numbering: Numbering) -> Json:
    return {
        "words": [
            {
                "text": w.text,
                "who": w.who,
                **_times(w.start_s, w.end_s),
                **_frames(w.start_s, w.end_s, clock, numbering),
                "confidence": json_real(w.confidence),
                "line": w.line,
            }
            for w in sound.words
        ],
        "phones": [{"phone": p.phone, "stress": p.stress, "word": p.word, **_times(p.start_s, p.end_s)} for p in sound.phones],
        "lines": [
            {
                "text": n.text,
                "who": n.who,
                "heard": n.heard,
                "why": n.why,
                "instead": n.instead,
                "confidence": json_real(n.confidence),
                "problem": n.problem,
            }
            for n in sound.lines
        ],
    }


def _times(start_s: float, end_s: float) -> Json:
    return {"start_s": json_real(start_s), "end_s": json_real(end_s)}


def _frames(start_s: float, end_s: float, clock: FrameClock, numbering: Numbering) -> Json:
    """First and last shown frame; null for sound that lies wholly outside the pictures."""
    span = clock.frames(start_s, end_s)
    if span is None:
        return {"first": None, "last": None}
    return {"first": numbering.shown(span.start), "last": numbering.shown(span.last)}


def _missing(missing: NotMeasured) -> Json:
    return {"check": missing.check, "who": missing.who, "needs": missing.needs}


def _curve(curve: Curve, numbering: Numbering) -> Json:
    return {
        "name": curve.name,
        "unit": curve.unit,
        "first": numbering.shown(curve.first),
        "seen": [json_real(v) for v in curve.seen],
        "wanted": [json_real(v) for v in curve.wanted],
    }


def _stroke(stroke: Stroke, numbering: Numbering) -> Json:
    return {
        "frame": numbering.shown(stroke.frame),
        "kind": stroke.kind,
        "points": [[json_real(x), json_real(y)] for x, y in stroke.points],
        "label": stroke.label,
    }


def _plan(plan: Plan, numbering: Numbering) -> Json:
    return {
        "frame": numbering.shown(plan.frame),
        "view": plan.view,
        "things": [
            {
                "kind": t.kind,
                "name": t.name,
                "x": json_real(t.x),
                "y": json_real(t.y),
                "facing_deg": None if t.facing_deg is None else json_real(t.facing_deg),
            }
            for t in plan.things
        ],
        "rays": [{"kind": r.kind, "points": [[json_real(x), json_real(y)] for x, y in r.points], "label": r.label} for r in plan.rays],
    }
